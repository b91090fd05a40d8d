#include "analysis/health_warming.h"

namespace endgate::analysis {
namespace {

constexpr double kSide_s = 1;  // averaged at either end

struct Run {
  double start_s = 0;
  double end_s = 0;
};

std::optional<Run> run_of(const RawTrace& trace) {
  std::optional<Run> run;
  const std::int64_t origin = origin_us(trace);
  for (const StepMark& step : trace.steps) {
    if (step.kind != StepKind::hold || step.end != StepEnd::complete) continue;
    const Window window = window_of(step, origin);
    if (!run) run = Run{window.start_s, window.end_s};
    run->end_s = window.end_s;
  }
  if (!run || run->end_s - run->start_s < kLeast_s) return std::nullopt;
  return run;
}

std::optional<double> warming(const Survey& survey, Role role, const Run& run) {
  if (!survey.usable(role)) return std::nullopt;
  const Samples& samples = survey.samples[index_of(role)];
  const SampleNoise noise = stated_noise(samples);
  const auto first = moments_in(samples.column, {run.start_s, run.start_s + kSide_s}, noise, 0);
  const auto last = moments_in(samples.column, {run.end_s - kSide_s, run.end_s}, noise, 0);
  if (!first || !last) return std::nullopt;
  return last->mean - first->mean;
}

}  // namespace

std::vector<Accusation> out_of_warming_order(const Survey& survey, const RawTrace& trace) {
  const std::optional<Run> run = run_of(trace);
  if (!run) return {};
  const auto of = [&](Role role) { return warming(survey, role, *run); };
  const auto room = of(Role::ambient_temperature);
  const auto body = of(Role::case_temperature);
  const auto head = of(Role::head_temperature);
  std::vector<Accusation> accusations;
  if (room && body && *room > kRoom_k && *room > *body)
    accusations.push_back({Role::ambient_temperature, HealthState::implausible,
                           said("the room warmed by %.1f K while the case warmed by %.1f K: "
                                "sensors may be crossed",
                                *room, *body),
                           run->end_s});
  if (body && head && *body > kMargin_k && *body > kShare * *head)
    accusations.push_back({Role::case_temperature, HealthState::implausible,
                           said("warmed by %.1f K while the head warmed by %.1f K: sensors may be "
                                "crossed",
                                *body, *head),
                           run->end_s});
  return accusations;
}

}  // namespace endgate::analysis
