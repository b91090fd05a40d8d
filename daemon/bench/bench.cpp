#include "daemon/bench/bench.h"

#include <boost/asio/post.hpp>

#include "daemon/bench/actuators.h"
#include "daemon/bench/bench_impl.h"
#include "daemon/bench/make_link.h"
#include "daemon/bench/step.h"
#include "daemon/log/log.h"

namespace endgate::daemon {
namespace {

constexpr std::chrono::seconds kShutDownIdle{2};
constexpr std::chrono::seconds kShutDownRunning{12};  // a test is made safe and handed over first

std::optional<StartRefusal> model_refused(const BenchDefinition& bench,
                                          const ModelDefinition& model) {
  for (const StepDefinition& step : model.sequence)
    if (!make_step(step.kind))
      return StartRefusal{"B-231", "Step " + step.id + " of model " + model.id +
                                       " is of a kind this version cannot drive."};
  const auto supply = find_actuator(bench, actuator::kSupplyVoltage);
  if (supply && !write_of(bench.actuators[*supply], model.supply_set_v))
    return StartRefusal{"B-232", "Bench " + bench.id + " cannot feed the voltage of model " +
                                     model.id + ". Use another bench."};
  return std::nullopt;
}

// A clamp that the bench closes by itself is closed by the test, which starts no motor before.
std::optional<StartRefusal> interlock_refused(const BenchDefinition& bench,
                                              const Interlocks& locks) {
  if (!locks.emergency_stop_clear.value_or(true))
    return StartRefusal{"B-213", "The emergency stop is pressed. Release it, then press Start."};
  if (!locks.cover_closed.value_or(true))
    return StartRefusal{"B-212", "The cover is open. Close it, then press Start."};
  if (!find_actuator(bench, actuator::kClamp) && !locks.fixture_clamped.value_or(true))
    return StartRefusal{"B-215", "The unit is not clamped. Clamp it, then press Start."};
  return std::nullopt;
}

}  // namespace

Bench::Impl::Impl(boost::asio::io_context& io_given, BenchDefinition definition,
                  std::vector<analysis::ChannelCalibration> calibrations_given,
                  BenchEvents events_given)
    : io(io_given),
      bench(std::move(definition)),
      calibrations(std::move(calibrations_given)),
      events(std::move(events_given)),
      timer(io),
      maker(bench, calibrations),
      off(bench),
      status(bench),
      pressure(bench),
      why_closed(bench.devices.size(), "not tried yet"),
      claim(claim_for(bench)),
      owner_life(bench) {
  for (const DeviceDefinition& device : bench.devices)
    links.push_back(make_link(io.get_executor(), device));
  poller = std::make_unique<Poller>(
      bench, links,
      Poller::Events{[this](RoundAnswer answer) { on_round(std::move(answer)); },
                     [this](const std::vector<std::size_t>& channels) { on_missed(channels); },
                     [this](const DeviceSpan& span, const SpanAnswer& answer) {
                       if (run) on_part(maker.part(span, answer));
                     }});
  live.bench = bench.id;
}

// Ticks are absolute: a late one does not move the next, a missed one is skipped.
void Bench::Impl::run_timer() {
  const auto period = poller->plan().tick_steady();
  const auto number = (Clock::now() - epoch) / period + 1;
  timer.expires_at(epoch + number * std::chrono::duration_cast<Clock::duration>(period));
  timer.async_wait([weak = weak_from_this(), number](boost::system::error_code error) {
    const auto self = weak.lock();
    if (!self || error || self->closed) return;
    self->run_timer();  // before all that might throw: while the ticks go on, off is repeated
    if (self->all_open()) self->poller->tick(number);
    self->on_tick(Clock::now());
  });
}

void Bench::Impl::on_tick(Steady now) {
  off.on_steady(now, all_open());
  if (off.send_due(now) && may_repeat_off()) send_off();
  if (off.unknown() && run && !run->making_safe())
    break_off(analysis::BreakOff::actuator_refused, "the motor relay did not open");
  if (const auto whether = status.silent(now))
    break_off(analysis::BreakOff::silence, std::string("the bench stopped to say ") + *whether);
  if (run) carry_out(run->on_steady(now).commands);
  watch_owner(now);
  renew_lease(now);
  hand_over_if_finished();
  update_live(now);
  if (shut_down_done) continue_shut_down(now);
}

void Bench::Impl::renew_lease(Steady now) {
  if (!bench.lease || !run || !run->lease_wanted() || now < lease_due) return;
  const bool fresh = newest && now - newest->frame.arrived < bench.lease->lapses_after / 2;
  if (!fresh || !all_open() || off.unknown()) return;
  lease_due = now + bench.lease->period;
  send({bench.lease->actuator, 1});
}

std::optional<StartRefusal> Bench::Impl::start_refused(const ModelDefinition& model) const {
  if (leaving)
    return StartRefusal{"B-230", "Bench " + bench.id + " is being set up anew. Scan again."};
  if (run) return StartRefusal{"B-229", "A test is running on bench " + bench.id + "."};
  const Stated now = stated();
  if (now.condition != BenchCondition::ready) return StartRefusal{now.code, now.text};
  if (pressure.stands())
    return StartRefusal{"B-217", "The unit on bench " + bench.id +
                                     " may be under pressure. Do not touch it or its hoses. When "
                                     "it is vented, by hand if need be, press Clear."};
  if (const auto refused = interlock_refused(bench, newest->frame.interlocks)) return refused;
  return model_refused(bench, model);
}

void Bench::Impl::start(const ModelDefinition& model, const TrialPlan& plan) {
  run = std::make_unique<TestRun>(bench, model, calibrations, plan);
  lease_due = {};
  renew_lease(Clock::now());
  carry_out(run->begin(newest->frame).commands);
  update_live(Clock::now());
}

void Bench::Impl::shut_down(std::function<void()> done) {
  if (closed) return boost::asio::post(io, std::move(done));  // it was shut down before
  leaving = true;
  shut_down_by = Clock::now() + (run ? kShutDownRunning : kShutDownIdle);
  shut_down_done = std::move(done);
  break_off(analysis::BreakOff::ended_by_service, "the service was shut down");
  order_off();
}

void Bench::Impl::continue_shut_down(Steady now) {
  const bool is_off = off.confirmed() || !off.wanted() || !all_open();
  const bool nothing_to_do = !run && is_off;
  if (!nothing_to_do && now < shut_down_by) return;
  const auto done = std::exchange(shut_down_done, nullptr);
  const auto finish = [self = shared_from_this(), done] {
    if (self->closed) return;
    self->close();
    done();
    // The service may end while a bench is being set up anew.
    if (const auto also = std::exchange(self->shut_down_done, nullptr)) also();
  };
  give_bench_back(finish);
}

// `newest` is there only since the links are open: an old read-back clears nothing.
bool Bench::Impl::clear_motor_alarm(const std::string& name) {
  if (!off.unknown()) return true;
  const std::string who = name.empty() ? "a person who gave no name" : name;
  const bool cleared = newest && off.clear();
  if (cleared)
    raise("B-102", "motor alarm cleared by " + who);
  else
    raise("B-101", "motor alarm not cleared for " + who + ": " + off.doubt());
  update_live(Clock::now());
  return cleared;
}

void Bench::Impl::latch_motor_alarm() {
  off.latch();
  unknown_raised = true;  // it was told when it came up
  update_live(Clock::now());
}

void Bench::Impl::clear_pressure(const std::string& name) {
  if (!pressure.stands()) return;
  pressure.clear();
  log_warning("bench " + bench.id + ": the unit is vented, says " + name);
  update_live(Clock::now());
}

void Bench::Impl::close() {
  closed = true;
  timer.cancel();
  for (const auto& link : links) link->close();
}

Bench::Bench(boost::asio::io_context& io, BenchDefinition definition,
             std::vector<analysis::ChannelCalibration> calibrations, BenchEvents events)
    : impl_(std::make_shared<Impl>(io, std::move(definition), std::move(calibrations),
                                   std::move(events))) {}

Bench::~Bench() { impl_->close(); }

void Bench::connect() {
  impl_->epoch = Impl::Clock::now();
  impl_->open_links();
  impl_->run_timer();
}

std::optional<StartRefusal> Bench::start_refused(const ModelDefinition& model) const {
  return impl_->start_refused(model);
}

void Bench::start(const ModelDefinition& model, const TrialPlan& plan) {
  impl_->start(model, plan);
}

void Bench::on_advice(const analysis::Advice& advice) {
  if (impl_->run) impl_->run->on_advice(advice);
}

void Bench::stop(const std::string& who) {
  impl_->break_off(analysis::BreakOff::stopped_by_person, "stopped by " + who);
}

bool Bench::clear_motor_alarm(const std::string& who) { return impl_->clear_motor_alarm(who); }

std::optional<StartRefusal> Bench::takeover_refused() const { return impl_->takeover_refused(); }

void Bench::take_over(const std::string& who, TakenOver done) {
  impl_->take_over(who, std::move(done));
}

void Bench::latch_motor_alarm() { impl_->latch_motor_alarm(); }

void Bench::clear_pressure(const std::string& who) { impl_->clear_pressure(who); }

void Bench::latch_pressure() { impl_->pressure.latch(); }

void Bench::shut_down(std::function<void()> done) { impl_->shut_down(std::move(done)); }

const BenchLive& Bench::live() const { return impl_->live; }

bool Bench::motor_is_off() const { return impl_->off.confirmed(); }

bool Bench::is_held_by_other() const { return impl_->held_by_other(); }

}  // namespace endgate::daemon
