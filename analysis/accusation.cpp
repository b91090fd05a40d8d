#include "analysis/accusation.h"

#include <algorithm>
#include <cstdio>

namespace endgate::analysis {

const StepMark* complete_step(const RawTrace& trace, StepKind kind) {
  const auto found = std::find_if(trace.steps.begin(), trace.steps.end(), [&](const auto& step) {
    return step.kind == kind && step.end == StepEnd::complete;
  });
  return found == trace.steps.end() ? nullptr : &*found;
}

Window window_of(const StepMark& step, std::int64_t origin_us) {
  return {seconds_from(origin_us, step.start_us), seconds_from(origin_us, step.end_us)};
}

std::string said(const char* format, double first, double second) {
  char buffer[200];
  std::snprintf(buffer, sizeof buffer, format, first, second);
  return buffer;
}

std::string unit_after(Role role) {
  const auto facts = std::ranges::find(kRoles, role, &RoleFacts::role);
  return " " + std::string(facts->si_unit);
}

SampleNoise stated_noise(const Samples& samples) {
  return {samples.facts->noise_sigma_si, samples.facts->noise_correlation_s, samples.resolution_si};
}

}  // namespace endgate::analysis
