#include "daemon/bench/actuator_watch.h"

#include <cmath>
#include <cstdio>

#include "daemon/bench/actuators.h"

namespace endgate::daemon {
namespace {

std::string disagreement(const ActuatorDefinition& actuator, double commanded, double read) {
  char text[200];
  std::snprintf(text, sizeof text, "%s was set to %g and is read back as %g", actuator.id.c_str(),
                commanded, read);
  return text;
}

}  // namespace

ActuatorWatch::ActuatorWatch(const BenchDefinition& bench) : bench_(bench) {
  for (const ActuatorDefinition& each : bench.actuators) {
    const bool own_rules = each.id == actuator::kMotorRelay || each.id == actuator::kLease ||
                           each.id == actuator::kOwner || each.id == actuator::kClamp;
    expected_.push_back({!own_rules && (each.read_back || each.read_back_bit), {}, {}});
  }
}

void ActuatorWatch::commanded(const ActuatorCommand& command, Steady now) {
  const auto index = find_actuator(bench_, command.actuator);
  if (!index) return;
  expected_[*index].value_si = command.value_si;
  expected_[*index].agreed_or_commanded = now;
}

std::optional<BreakOffFinding> ActuatorWatch::on_frame(const ReadBacks& read_backs, Steady now) {
  for (std::size_t i = 0; i < std::min(read_backs.size(), expected_.size()); ++i) {
    Expected& expected = expected_[i];
    const ActuatorDefinition& definition = bench_.actuators[i];
    if (!expected.watched || !expected.value_si || !read_backs[i]) continue;
    const double tolerance = definition.follow_tolerance_si.value_or(
        definition.read_back ? 1.5 * std::abs(definition.scale) : 0.5);
    if (std::abs(*read_backs[i] - *expected.value_si) <= tolerance) {
      expected.agreed_or_commanded = now;
    } else if (now - expected.agreed_or_commanded > definition.follow_within) {
      return BreakOffFinding{analysis::BreakOff::actuator_refused,
                             disagreement(definition, *expected.value_si, *read_backs[i])};
    }
  }
  return std::nullopt;
}

}  // namespace endgate::daemon
