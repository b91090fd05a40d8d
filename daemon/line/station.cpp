#include "daemon/line/station.h"

#include <algorithm>
#include <boost/asio/post.hpp>
#include <utility>

#include "daemon/line/choose_test.h"
#include "daemon/line/commit_start.h"
#include "daemon/line/left_behind.h"
#include "daemon/line/line_parts.h"
#include "daemon/line/running_test.h"
#include "daemon/line/scanned_unit.h"
#include "daemon/line/station_unit.h"
#include "daemon/line/upkeep_facts.h"

namespace endgate::daemon {
namespace {

std::vector<analysis::ChannelCalibration> calibrations_for(const BenchDefinition& bench,
                                                           const CalibrationFacts* facts) {
  std::vector<analysis::ChannelCalibration> list;
  for (const ChannelDefinition& channel : bench.channels) {
    analysis::ChannelCalibration calibration;
    if (facts != nullptr)
      for (const auto& [id, known] : facts->channels)
        if (id == channel.facts.id) calibration = known;
    list.push_back(calibration);
  }
  return list;
}

std::pair<int, int> versions_in(const Configuration& configuration, const std::string& bench) {
  const auto file = configuration.benches.find(bench);
  const auto calibration = configuration.calibrations.find(bench);
  return {file == configuration.benches.end() ? 0 : file->second.version,
          calibration == configuration.calibrations.end() ? 0 : calibration->second.version};
}

}  // namespace

Station::Station(StationTools tools, std::string bench)
    : tools_(std::move(tools)), bench_id_(std::move(bench)), advice_(tools_.io, tools_.pool) {
  state_.bench = bench_id_;
  state_.bench_name = bench_id_;
}

bool Station::outdated(const Configuration& configuration) const {
  return versions_ != versions_in(configuration, bench_id_);
}

// One keeper a bench, in one order: what an older one still held would be kept behind its end.
void Station::take_alarms(std::shared_ptr<AlarmKeeper> alarms) {
  const auto tell = [weak = weak_from_this()](const std::string& code, const std::string& text) {
    if (const auto self = weak.lock()) self->tell_of_store(code, text);
  };
  alarms_ = std::move(alarms);
  if (alarms_) return alarms_->tell_to(tell);
  alarms_ = std::make_shared<AlarmKeeper>(tools_.io, tools_.records, tools_.store_folder, bench_id_,
                                          tell);
}

void Station::open(const LineState* before, LatchedAlarms latched,
                   std::shared_ptr<AlarmKeeper> alarms) {
  latched_ = latched;
  take_alarms(std::move(alarms));
  const auto configuration = tools_.configuration();
  versions_ = versions_in(*configuration, bench_id_);
  if (before != nullptr) take_over(*before);
  const auto found = configuration->benches.find(bench_id_);
  if (found == configuration->benches.end()) {
    const auto why = configuration->not_ready.find(bench_id_);
    const std::string text = why == configuration->not_ready.end()
                                 ? "Bench " + bench_id_ + " has no accepted bench file."
                                 : why->second;
    return show_fault(LinePhase::out_of_use, "B-300", text);
  }
  const BenchDefinition& definition = found->second.value;
  const auto calibration = configuration->calibrations.find(bench_id_);
  state_.bench_name = definition.name;
  state_.simulated = definition.simulated;
  if (state_.phase != LinePhase::verdict) state_.phase = LinePhase::free;
  bench_ = std::make_unique<Bench>(
      tools_.io, definition,
      calibrations_for(definition, calibration == configuration->calibrations.end()
                                       ? nullptr
                                       : &calibration->second.value),
      events_for_bench());
  if (latched_.pressure) bench_->latch_pressure();
  bench_->connect();
  if (latched_.motor) bench_->latch_motor_alarm();
  if (before == nullptr) look_for_left_behind();
  publish();
}

// A bench may say something after its station was replaced.
BenchEvents Station::events_for_bench() {
  const std::weak_ptr<Station> weak = weak_from_this();
  BenchEvents events;
  events.live = [weak](const BenchLive& live) {
    if (const auto self = weak.lock()) self->on_live(live);
  };
  events.finished = [weak](FinishedTest test) {
    if (const auto self = weak.lock()) self->on_finished(std::move(test));
  };
  events.alarm = [weak](const std::string& code, const std::string& text) {
    if (const auto self = weak.lock()) self->on_alarm(code, text);
  };
  events.look = [weak](analysis::StepSums sums) {
    if (const auto self = weak.lock()) self->on_look(std::move(sums));
  };
  events.piece = [weak](analysis::RawTrace piece) {
    if (const auto self = weak.lock()) self->on_piece(std::move(piece));
  };
  return events;
}

// The numbers of versions go on: who has seen one takes a later one for news.
void Station::take_over(const LineState& before) {
  if (before.phase == LinePhase::verdict) state_ = before;
  state_.version = before.version;
  state_.last_unit = before.last_unit;
  state_.live = {};
}

bool Station::out_of_use() const {
  return state_.phase == LinePhase::out_of_use || state_.phase == LinePhase::press_stop;
}

bool Station::replaceable() const {
  const bool storage = state_.phase == LinePhase::out_of_use && state_.code.starts_with("S-");
  return idle() && !test_ && !storage && state_.phase != LinePhase::press_stop;
}

void Station::publish() {
  if (retired_) return;
  ++state_.version;
  tools_.changed(state_);
}

void Station::show_fault(LinePhase phase, const std::string& code, const std::string& message) {
  state_.phase = phase;
  state_.code = code;
  state_.message = message;
  publish();
}

void Station::answer_state(const Answer& done) {
  publish();
  done(state_);
}

void Station::refuse(const Answer& done, const std::string& code, const std::string& sentence) {
  done(CommandRefusal{409, code, sentence});
}

void Station::forget_unit() {
  unit_.reset();
  ++scan_number_;
  state_.serial.clear();
  state_.model.clear();
  state_.purpose.clear();
  state_.retest_reason.clear();
  state_.reference_name.clear();
  state_.attempt = 0;
  state_.rail.clear();
  state_.band.clear();
  state_.so_far.clear();
  state_.result.reset();
  state_.seconds_left.reset();
  state_.message.clear();
  state_.code.clear();
  state_.earlier.clear();
  state_.reasons_to_choose.clear();
  state_.notices.clear();
  state_.ignored_scan.clear();
}

void Station::look_for_left_behind() {
  tools_.on_pool([self = shared_from_this()] {
    std::shared_ptr<const LeftBehind> left;
    try {
      if (auto found = left_behind_on(self->tools_.store_folder, self->bench_id_))
        left = std::make_shared<const LeftBehind>(std::move(*found));
    } catch (const schema::StoreFault&) {
      return;  // the next scan reads the store again and tells
    }
    if (left) boost::asio::post(self->tools_.io, [self, left] { self->take_left_behind(left); });
  });
}

// Whoever has scanned meanwhile has seen to the bench.
void Station::take_left_behind(std::shared_ptr<const LeftBehind> left) {
  const bool free = state_.phase == LinePhase::free;
  if (!free && !out_of_use()) return;
  left_behind_ = std::move(left);
  if (!free) return;
  become_free();
  publish();
}

void Station::become_free() {
  forget_unit();
  state_.phase = LinePhase::free;
  if (!left_behind_) return;
  state_.phase = LinePhase::verdict;
  state_.serial = left_behind_->serial;
  state_.model = left_behind_->model;
  state_.batch = left_behind_->batch;
  state_.purpose = left_behind_->purpose;
  state_.retest_reason = left_behind_->retest_reason;
  state_.attempt = left_behind_->attempt;
  state_.result = left_behind_->result;
  state_.last_unit = state_.serial + ", void";
}

// Codes of the printed test card; no serial pattern may begin with EG-.
void Station::scan_code(const std::string& code, const Answer& done) {
  if (code == "EG-START") return start({.bench = bench_id_, .reason = ""}, done);
  if (code == "EG-STOP") {
    stop("scanner");
    return answer_state(done);
  }
  if (code == "EG-CANCEL" && idle()) {
    if (out_of_use()) return refuse(done, state_.code, state_.message);
    left_behind_.reset();
    become_free();
    return answer_state(done);
  }
  if (code.starts_with("EG-R") && code.size() == 5 && state_.phase == LinePhase::again)
    return choose_reason(static_cast<std::size_t>(code[4] - '1'), done);
  refuse(done, "U-103", "Code " + code + " means nothing here just now. Scan a serial.");
}

void Station::choose_reason(std::size_t number, const Answer& done) {
  if (number >= state_.reasons_to_choose.size())
    return refuse(done, "U-104", "There is no such reason. Choose one of those shown.");
  start({.bench = bench_id_, .reason = state_.reasons_to_choose[number]}, done);
}

void Station::scan(const ScanCommand& command, std::function<void(CommandAnswer)> done) {
  if (command.text.starts_with("EG-")) return scan_code(command.text, done);
  if (!idle()) {
    state_.ignored_scan = command.text;
    return answer_state(done);
  }
  if (out_of_use()) return refuse(done, state_.code, state_.message);
  left_behind_.reset();
  forget_unit();
  const auto found = scanned_unit(command, *tools_.configuration());
  if (const auto* refusal = std::get_if<CommandRefusal>(&found)) {
    show_fault(LinePhase::refused, refusal->code, refusal->sentence);
    return done(*refusal);
  }
  read_about(std::get<std::shared_ptr<UnitOnBench>>(found), done);
}

void Station::read_about(const std::shared_ptr<UnitOnBench>& unit, const Answer& done) {
  const std::uint64_t number = scan_number_;
  tools_.on_pool([self = shared_from_this(), unit, number, done] {
    std::string fault;
    try {
      unit->history = read_history(self->tools_.store_folder, unit->serial);
      unit->upkeep = upkeep_due(self->tools_, self->bench_id_);
    } catch (const schema::StoreFault& caught) {
      fault = caught.what();
    }
    boost::asio::post(self->tools_.io, [self, unit, number, done, fault] {
      if (number != self->scan_number_)
        return self->refuse(done, "U-105", "Another serial was scanned since. Scan again.");
      if (!fault.empty()) {
        self->storage_fault(fault);
        return self->refuse(done, self->state_.code, self->state_.message);
      }
      self->identified(unit, done);
    });
  });
}

void Station::identified(std::shared_ptr<UnitOnBench> unit, const Answer& done) {
  if (retired_) return refuse(done, "U-105", "The bench was set up anew. Scan again.");
  if (out_of_use()) return refuse(done, state_.code, state_.message);
  if (!unit->history.under_test_on.empty()) {
    show_fault(LinePhase::refused, "U-116",
               unit->serial + " is under test on bench " + unit->history.under_test_on +
                   ": its result is not kept yet. Wait for its verdict.");
    return refuse(done, state_.code, state_.message);
  }
  unit_ = std::move(unit);
  take_purpose(*unit_, *tools_.configuration());
  show_unit();
  const auto asked = reason_asked_for(*unit_);
  state_.phase = asked ? LinePhase::again : LinePhase::ready;
  if (upkeep_blocks(unit_->upkeep)) return refuse(done, state_.code, state_.message);
  if (asked) ask_for_reason(*asked);
  answer_state(done);
}

void Station::show_unit() {
  state_.serial = unit_->serial;
  state_.model = unit_->model.id;
  state_.batch = unit_->batch;
  state_.purpose = unit_->purpose;
  state_.reference_name = unit_->reference_name;
  state_.attempt = unit_->history.last_attempt + 1;
  if (unit_->reference_name.empty()) state_.earlier = unit_->history.last_words;
  state_.band = limit_band_of(unit_->context.limits);
  show_sequence();
}

void Station::show_sequence() {
  state_.expected_s = unit_->model.expected_cycle_s;
  state_.rail = rail_of(unit_->model);
}

void Station::ask_for_reason(const ReasonAsked& asked) {
  unit_->retest_refusal = asked.code;
  state_.code = asked.code;
  state_.message = asked.sentence;
  for (const RetestReason& reason : asked.offered) state_.reasons_to_choose.push_back(reason.words);
}

void Station::start(const StartCommand& command, std::function<void(CommandAnswer)> done) {
  if (not_heard(state_))
    return refuse(done, "U-110",
                  "Nothing is heard of bench " + bench_id_ +
                      ": its test is being broken off. Press the stop button on the bench.");
  if (!idle()) return refuse(done, "U-110", "A test runs on bench " + bench_id_ + ". Wait for it.");
  if (unit_ && state_.phase == LinePhase::refused) return refuse(done, state_.code, state_.message);
  if (!unit_ || (state_.phase != LinePhase::ready && state_.phase != LinePhase::again))
    return refuse(done, "U-111", "No unit was scanned. Scan the serial of the unit on the bench.");
  const auto configuration = tools_.configuration();
  if (const auto changed = changed_since_scan(*unit_, bench_id_, *configuration)) {
    show_fault(LinePhase::refused, "U-114", *changed);
    return refuse(done, "U-114", *changed);
  }
  // What is asked for is the unit's only once nothing refuses it: a trial that was refused is not
  // what the next Start means.
  auto chosen = std::make_shared<UnitOnBench>(*unit_);
  if (const auto refusal = choose_test(*chosen, bench_id_, command, *configuration))
    return done(*refusal);
  if (const auto refusal = bench_->start_refused(chosen->model))
    return refuse(done, refusal->code, refusal->sentence);
  unit_ = std::move(chosen);
  if (!unit_->trial_name.empty()) {
    show_sequence();
    state_.band.clear();
  }
  keep_start(done);
}

void Station::stop(const std::string& who) {
  stopped_by_ = who;  // a start that is still being kept does not switch the motor on
  if (bench_) bench_->stop(who);
}

void Station::clear(const std::string& who, std::function<void(CommandAnswer)> done) {
  if (!idle()) return refuse(done, "U-110", "A test runs on bench " + bench_id_ + ". Wait for it.");
  if (!bench_) return refuse(done, state_.code, state_.message);
  if ((latched_.motor || latched_.pressure) && who.empty())
    return refuse(done, "U-117",
                  "Who cleared the alarm is kept. Enter your name as operator, then clear.");
  if (!bench_->clear_motor_alarm(who))
    return refuse(done, "B-101",
                  "Motor off is not read back from bench " + bench_id_ +
                      ": the alarm stays. Press the stop button on the bench, check its relay and "
                      "cables, then clear again.");
  if (std::exchange(latched_.motor, false))
    alarms_->close({kAlarmMotor, who, "motor off was read back"});
  if (std::exchange(latched_.pressure, false))
    alarms_->close({kAlarmPressure, who, "a person said that the unit is vented"});
  alarms_->try_again();
  bench_->clear_pressure(who);
  out_of_contact_ = false;
  if (test_ && test_->waits()) return keep_again(done);
  become_free();
  answer_state(done);
}

void Station::keep_again(const Answer& done) {
  busy_ = true;
  show_fault(LinePhase::storing, "", "");
  test_->keep_again();
  done(state_);
}

void Station::shut_down(std::function<void()> done) {
  if (test_) test_->keep_again();  // the last chance of a result that waits
  if (alarms_) alarms_->try_again();
  if (bench_)
    bench_->shut_down(std::move(done));
  else
    done();
}

}  // namespace endgate::daemon
