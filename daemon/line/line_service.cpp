#include "daemon/line/line_service.h"

#include <boost/asio/post.hpp>
#include <future>
#include <utility>

#include "daemon/line/accept_text.h"
#include "daemon/line/bench_texts.h"
#include "daemon/line/identified_unit.h"
#include "daemon/line/station.h"
#include "daemon/line/store_refusal.h"
#include "daemon/line/upkeep_facts.h"
#include "daemon/line/upkeep_policy.h"
#include "daemon/line/version.h"
#include "daemon/line/wall_clock.h"
#include "daemon/log/log.h"
#include "daemon/mapping/keep_broken_off.h"
#include "daemon/mapping/record_of.h"

namespace endgate::daemon {
namespace {

// A bench gives up on its own deadline, 12 s with a test on it; this only guards against a bug.
constexpr std::chrono::seconds kBenchesDown{15};
constexpr int kMostQuestions = 64;  // that run or wait
constexpr std::size_t kQuestionThreads = 2;

// What was appended before the fault stays: only a fault of the append itself keeps nothing.
CommandRefusal kept_but_not_in_force(const schema::StoreFault& fault) {
  return {503, "S-124",
          std::string("It was accepted and kept, but the store could not be read again: ") +
              fault.what() + " What was in force before holds until the service is restarted."};
}

}  // namespace

LineService::LineService(const ServiceDefinition& service, std::filesystem::path config_folder,
                         std::function<void()> failed,
                         const std::function<void()>& benches_are_mine)
    : config_folder_(std::move(config_folder)),
      store_folder_(service.data_directory),
      upkeep_(service.upkeep),
      shift_begins_min_(service.shift_begins_min),
      failed_(std::move(failed)),
      work_(io_.get_executor()),
      records_(store_folder_, [this](const std::string& what) { on_stray(what); }),
      derived_(store_folder_),
      pool_(static_cast<std::size_t>(service.pool_threads)),
      question_pool_(kQuestionThreads) {
  keep_broken_off_tests();
  reread_configuration();
  motor_alarms_ = benches_with(schema::StoreReader(store_folder_), kAlarmMotor);
  pressure_alarms_ = benches_with(schema::StoreReader(store_folder_), kAlarmPressure);
  benches_are_mine();
  make_stations();
  // After a stray exception it goes on: motors are switched off and read back on this thread.
  io_thread_ =
      std::thread([this] { run_to_end(io_, [this](const std::string& what) { on_stray(what); }); });
}

void LineService::on_stray(const std::string& what) {
  log_error("Internal fault, motors off, the service ends: " + what);
  boost::asio::post(io_, [this] {
    closing_ = true;
    for (const auto& [bench, station] : stations_) station->shut_down([] {});
  });
  failed_();
}

LineService::~LineService() {
  shut_benches_down();
  question_pool_.stop();  // whoever still waits is not answered
  question_pool_.join();
  pool_.join();       // tests that were cut short are judged ...
  records_.finish();  // ... and kept
  work_.reset();
  io_.stop();
  io_thread_.join();
}

void LineService::watch(std::chrono::milliseconds period, std::function<void()> alive,
                        Heartbeat::Ask on_pages) {
  using Answer = std::function<void()>;
  const auto on_records = [this](Answer answer) {
    return records_.post([answer = std::move(answer)](schema::StoreWriter&) { answer(); });
  };
  const auto on_pool = [this](Answer answer) {
    boost::asio::post(pool_, std::move(answer));
    return true;
  };
  heartbeat_ = std::make_unique<Heartbeat>(
      io_, std::vector<Heartbeat::Ask>{on_records, on_pool, std::move(on_pages)}, period,
      std::move(alive));
}

// A start without its record is a test that a crash or a power cut ended: kept as void, never
// resumed.  The benches get motor off as soon as they are connected, before anything else.
void LineService::keep_broken_off_tests() {
  std::promise<std::exception_ptr> kept;
  const bool queued = records_.post([&](schema::StoreWriter& writer) {
    try {
      const schema::StoreReader reader(store_folder_);
      for (const schema::StoredStart& start : reader.starts_without_record()) {
        schema::Record record =
            broken_off_record(start.start, start.position, wall_clock_now(), software_version());
        record.simulated = is_simulated(reader, start.start.bench);
        const analysis::Standing standing = standing_when_broken_off(store_folder_, start.start);
        record.standing = analysis::word_of(standing.word);
        record.standing_reason = standing.reason;
        keep_broken_off(writer, store_folder_, std::move(record));
      }
      kept.set_value(nullptr);
    } catch (...) {  // whatever it is, the start waits for it
      kept.set_value(std::current_exception());
    }
  });
  if (!queued) throw schema::StoreFault(schema::StoreFault::Kind::busy, "the store takes no work");
  if (const std::exception_ptr fault = kept.get_future().get()) std::rethrow_exception(fault);
}

void LineService::reread_configuration() {
  auto fresh = read_accepted(config_folder_, schema::StoreReader(store_folder_));
  const std::lock_guard lock(mutex_);
  configuration_ = std::move(fresh);
}

// One station per bench that has a file, usable or not; one whose definition changed is made anew
// as soon as it is idle.
void LineService::make_stations() {
  if (closing_) return;
  const std::shared_ptr<const Configuration> configuration = newest_configuration();
  for (const std::string& bench : configuration->bench_ids()) {
    const auto known = stations_.find(bench);
    if (known == stations_.end())
      open_station(bench, nullptr,
                   {motor_alarms_.contains(bench), pressure_alarms_.contains(bench)});
    else if (known->second->outdated(*configuration))
      replace_station(bench);
  }
}

void LineService::open_station(const std::string& bench, const LineState* before,
                               LatchedAlarms latched, std::shared_ptr<AlarmKeeper> alarms) {
  const auto station = std::make_shared<Station>(
      StationTools{io_, pool_, records_, store_folder_, [this] { return newest_configuration(); },
                   [this](const LineState& state) { changed(state); }, upkeep_,
                   [this](const std::string& what) { on_stray(what); }},
      bench);
  stations_[bench] = station;
  station->open(before, latched, std::move(alarms));
}

// The new station claims the bench only after the old one has given it back.
void LineService::replace_station(const std::string& bench) {
  const std::shared_ptr<Station> old = stations_.at(bench);
  if (!old->replaceable()) {
    outdated_.insert(bench);
    return;
  }
  outdated_.erase(bench);
  if (!being_replaced_.insert(bench).second) return;
  old->shut_down([this, bench, old] {
    being_replaced_.erase(bench);
    if (closing_) return;
    old->retire();
    open_station(bench, &old->state(), old->latched(), old->alarms());
  });
}

std::shared_ptr<const Configuration> LineService::newest_configuration() const {
  const std::lock_guard lock(mutex_);
  return configuration_;
}

void LineService::wait_for_benches(std::chrono::milliseconds at_most) {
  const auto until = std::chrono::steady_clock::now() + at_most;
  const auto all_heard = [this] {
    const std::lock_guard lock(mutex_);
    for (const auto& [bench, state] : states_)
      if (state.live.condition == BenchCondition::connecting) return false;
    return true;
  };
  while (!all_heard() && std::chrono::steady_clock::now() < until)
    std::this_thread::sleep_for(std::chrono::milliseconds(10));
}

void LineService::shut_benches_down() {
  const auto all_down = std::make_shared<std::promise<void>>();
  auto down = all_down->get_future();
  boost::asio::post(io_, [this, all_down] {
    closing_ = true;
    const auto left = std::make_shared<std::size_t>(stations_.size());
    if (*left == 0) return all_down->set_value();
    for (const auto& [bench, station] : stations_)
      station->shut_down([left, all_down] {
        if (--*left == 0) all_down->set_value();
      });
  });
  down.wait_for(kBenchesDown);
}

void LineService::changed(const LineState& state) {
  std::vector<Listener> listeners;
  {
    const std::lock_guard lock(mutex_);
    states_[state.bench] = state;
    for (const auto& [id, listener] : listeners_) listeners.push_back(listener);
  }
  for (const Listener& listener : listeners) listener(state);
  if (outdated_.contains(state.bench) && stations_.at(state.bench)->replaceable())
    boost::asio::post(io_, [this] { make_stations(); });
}

std::vector<std::string> LineService::benches() const {
  const std::lock_guard lock(mutex_);
  std::vector<std::string> ids;
  for (const auto& [bench, state] : states_) ids.push_back(bench);
  return ids;
}

std::optional<LineState> LineService::line(const std::string& bench) const {
  const std::lock_guard lock(mutex_);
  const auto found = states_.find(bench);
  if (found == states_.end()) return std::nullopt;
  return found->second;
}

void LineService::on_station(const std::string& bench, StationCall call,
                             const std::function<void(CommandAnswer)>& done) {
  boost::asio::post(io_, [this, bench, call = std::move(call), done] {
    const auto found = stations_.find(bench);
    if (found != stations_.end()) return call(*found->second);
    if (done) done(CommandRefusal{404, "U-120", "There is no bench " + bench + " here."});
  });
}

void LineService::scan(ScanCommand command, std::function<void(CommandAnswer)> done) {
  on_station(
      command.bench, [command, done](Station& station) { station.scan(command, done); }, done);
}

void LineService::start(StartCommand command, std::function<void(CommandAnswer)> done) {
  on_station(
      command.bench, [command, done](Station& station) { station.start(command, done); }, done);
}

void LineService::stop(const std::string& bench, const std::string& who) {
  on_station(
      bench, [who](Station& station) { station.stop(who); }, nullptr);
}

void LineService::clear(const std::string& bench, const std::string& who,
                        std::function<void(CommandAnswer)> done) {
  on_station(
      bench, [who, done](Station& station) { station.clear(who, done); }, done);
}

void LineService::take_bench(TakeCommand command, std::function<void(Entered)> done) {
  boost::asio::post(io_, [this, command = std::move(command), done = std::move(done)] {
    const auto found = stations_.find(command.bench);
    if (found != stations_.end()) return found->second->take_bench(command, done);
    done(CommandRefusal{404, "U-120", "There is no bench " + command.bench + " here."});
  });
}

void LineService::accept(AcceptCommand command,
                         std::function<void(std::variant<Accepted, CommandRefusal>)> done) {
  const bool queued =
      records_.post([this, command = std::move(command), done](schema::StoreWriter& writer) {
        try {
          const auto answer = accept_text(writer, store_folder_, command);
          if (std::holds_alternative<CommandRefusal>(answer)) return done(answer);
          done(put_in_force(std::get<Accepted>(answer)));
        } catch (const schema::StoreFault& fault) {
          done(store_refusal(fault));
        }
      });
  if (!queued) done(store_behind());
}

Application::Entered LineService::put_in_force(const Accepted& accepted) {
  try {
    reread_configuration();
  } catch (const schema::StoreFault& fault) {
    return kept_but_not_in_force(fault);
  }
  boost::asio::post(io_, [this] { make_stations(); });
  return accepted;
}

void LineService::enter(MakeFact make, std::function<void(Entered)> done) {
  const bool queued = records_.post([make = std::move(make), done](schema::StoreWriter& writer) {
    try {
      done(make(writer));
    } catch (const schema::StoreFault& fault) {
      done(store_refusal(fault));
    }
  });
  if (!queued) done(store_behind());
}

std::uint64_t LineService::subscribe(Listener listener) {
  const std::lock_guard lock(mutex_);
  listeners_[next_listener_] = std::move(listener);
  return next_listener_++;
}

void LineService::unsubscribe(std::uint64_t id) {
  const std::lock_guard lock(mutex_);
  listeners_.erase(id);
}

bool LineService::on_pool(std::function<void()> work) {
  if (questions_.fetch_add(1) >= kMostQuestions) {
    --questions_;
    return false;
  }
  const auto stray = [](const std::string& what) { log_error("A question failed: " + what); };
  boost::asio::post(question_pool_, [this, stray, work = std::move(work)] {
    run_guarded(stray, work);
    --questions_;
  });
  return true;
}

std::string LineService::store_folder() const { return store_folder_.string(); }

Application::Health LineService::health() const {
  Health health;
  {
    const std::lock_guard lock(mutex_);
    for (const auto& [bench, state] : states_)
      if (state.phase == LinePhase::out_of_use || state.phase == LinePhase::press_stop)
        health.reasons.push_back("Bench " + bench + ": " + state.message);
      else if (state.live.may_be_under_pressure)
        health.reasons.push_back("Bench " + bench + ": its unit may be under pressure.");
    for (const auto& [subject, why] : configuration_->not_ready) health.reasons.push_back(why);
  }
  health.last_position = records_.last_position();
  if (records_.disk_failed())
    health.reasons.push_back("The disk under " + store_folder_.string() +
                             " has failed: nothing is kept until the service is started again.");
  health.ready = health.reasons.empty();
  return health;
}

}  // namespace endgate::daemon
