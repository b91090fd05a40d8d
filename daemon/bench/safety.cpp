#include "daemon/bench/safety.h"

#include <cstdio>

#include "daemon/bench/actuators.h"
#include "daemon/bench/steady_time.h"

namespace endgate::daemon {

using analysis::BreakOff;

namespace {

std::optional<SafetyFinding> finding(const std::optional<BreakOffFinding>& found) {
  if (!found) return std::nullopt;
  return SafetyFinding{std::nullopt, *found};
}

OverLimits::When when(const Safety::Situation& situation) {
  return {situation.running, situation.step_id, situation.beside_id, situation.since_us};
}

}  // namespace

Safety::Safety(const BenchDefinition& bench, const ModelDefinition& model)
    : bench_(bench),
      over_limits_(bench, model),
      relay_(bench),
      actuators_(bench),
      heard_(bench.channels.size()),
      clamp_is_ours_(find_actuator(bench, actuator::kClamp).has_value()) {}

void Safety::begin(Steady now) {
  heard_.assign(heard_.size(), now);
  was_clamped_ = false;
}

void Safety::commanded(const ActuatorCommand& command, Steady now) {
  if (command.actuator == actuator::kMotorRelay) relay_.commanded(is_motor_on(command), now);
  actuators_.commanded(command, now);
}

std::optional<SafetyFinding> Safety::on_part(const Part& part, const Situation& situation) {
  if (const auto found = interlock(part.interlocks, situation.step)) return finding(found);
  if (const auto trip = over_limits_.on_values(part.values, when(situation)))
    return SafetyFinding{trip, {}};
  return std::nullopt;
}

std::optional<SafetyFinding> Safety::on_frame(const Frame& frame, const ReadBacks& read_backs,
                                              const Situation& situation) {
  for (const Reading& reading : frame.readings)
    if (reading.quality == analysis::Quality::good) heard_[reading.channel] = frame.arrived;
  if (const auto found = interlock(frame.interlocks, situation.step)) return finding(found);
  if (const auto trip = over_limits_.on_frame(frame, when(situation)))
    return SafetyFinding{trip, {}};
  if (const auto found = silence(frame.arrived, situation)) return finding(found);
  if (const auto found = relay_.on_frame(frame)) return finding(found);
  return finding(actuators_.on_frame(read_backs, frame.arrived));
}

std::optional<SafetyFinding> Safety::on_steady(Steady now, const Situation& situation) {
  return finding(silence(now, situation));
}

std::optional<BreakOffFinding> Safety::interlock(const Interlocks& locks, const std::string& step) {
  if (!locks.emergency_stop_clear.value_or(true))
    return BreakOffFinding{BreakOff::emergency_stop,
                           "the emergency stop was pressed during " + step};
  if (!locks.cover_closed.value_or(true))
    return BreakOffFinding{BreakOff::cover_open, "the cover was opened during " + step};
  if (!locks.fixture_clamped) return std::nullopt;
  const bool clamped = *locks.fixture_clamped;
  const bool may_be_closing = clamp_is_ours_ && !was_clamped_;
  if (!clamped && !may_be_closing)
    return BreakOffFinding{BreakOff::cover_open, "the unit was unclamped during " + step};
  was_clamped_ = was_clamped_ || clamped;
  return std::nullopt;
}

std::optional<BreakOffFinding> Safety::silence(Steady now, const Situation& situation) const {
  const double rate = declared_rate(bench_);
  for (std::size_t i = 0; i < heard_.size(); ++i) {
    const analysis::ChannelFacts& facts = bench_.channels[i].facts;
    if (now - heard_[i] <= silent_after(facts, rate)) continue;
    char text[160];
    std::snprintf(text, sizeof text, "%s was silent for %.1f s during %s", facts.id.c_str(),
                  std::chrono::duration<double>(now - heard_[i]).count(), situation.step.c_str());
    return BreakOffFinding{BreakOff::silence, text};
  }
  return std::nullopt;
}

}  // namespace endgate::daemon
