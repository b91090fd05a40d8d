#include "analysis/evaluate.h"

#include <algorithm>
#include <cmath>

#include "analysis/channel_health.h"
#include "analysis/conclusion.h"
#include "analysis/duty_run.h"
#include "analysis/grade.h"
#include "analysis/health_together.h"
#include "analysis/likely_cause.h"
#include "analysis/measured.h"
#include "analysis/missing_metric.h"
#include "analysis/operating_point.h"
#include "analysis/survey.h"
#include "analysis/uncertainty_by_cause.h"

namespace endgate::analysis {
namespace {

constexpr double kNegligible = 1e-6;  // of u: rounding, not a cause

double total_u(const std::vector<CausePart>& parts, std::size_t index) {
  double squares = 0;
  for (const CausePart& part : parts) squares += part.u[index] * part.u[index];
  return std::sqrt(squares);
}

Metric metric_of(std::size_t index, const Conclusion& conclusion,
                 const std::vector<CausePart>& parts) {
  const std::string id(kMetrics[index].id);
  const Outcome<Answer>& answer = conclusion.metrics[index];
  if (!answer) return missing_metric(id, answer.error().detail);
  const double u = total_u(parts, index);
  if (!std::isfinite(answer->value) || !std::isfinite(u))
    return missing_metric(id, "the readings give no finite number");
  Metric metric;
  metric.id = id;
  metric.value = answer->value;
  metric.u = u;
  metric.extrapolated = answer->extrapolated;
  for (const CausePart& part : parts)
    if (std::abs(part.u[index]) > kNegligible * u)
      metric.parts.push_back({part.cause, part.u[index]});
  return metric;
}

std::vector<Metric> metrics_of(const ModelFacts& model, const Conclusion& conclusion,
                               const std::vector<CausePart>& parts) {
  std::vector<Metric> metrics;
  for (const std::string& id : model.metrics) {
    const auto known = std::find_if(kMetrics.begin(), kMetrics.end(),
                                    [&](const MetricRecipe& facts) { return facts.id == id; });
    metrics.push_back(
        known == kMetrics.end()
            ? missing_metric(id, "no such metric is known to the analysis")
            : metric_of(static_cast<std::size_t>(known - kMetrics.begin()), conclusion, parts));
  }
  return metrics;
}

// From 0 kPa up to the first point that a weak unit does not give.
std::vector<DrawnPoint> drawn_of(const Conclusion& conclusion,
                                 const std::vector<CausePart>& parts) {
  std::vector<DrawnPoint> drawn;
  for (std::size_t i = 0; i < kDrawn; ++i) {
    const double u = total_u(parts, kMetrics.size() + i);
    if (!conclusion.drawn[i] || !std::isfinite(conclusion.drawn[i]->value) || !std::isfinite(u))
      break;
    drawn.push_back(
        {drawn_gauge_pa(i), conclusion.drawn[i]->value, u, conclusion.drawn[i]->extrapolated});
  }
  return drawn;
}

}  // namespace

Evaluation evaluate(const RawTrace& trace, const Context& context) {
  if (asks_for_duty(context)) return evaluate_duty(trace, context);
  Evaluation evaluation;
  evaluation.health = judge_channels(trace, context.bench);
  Survey survey = survey_of(trace, context, evaluation.health);
  if (find_sick_together(survey, trace, evaluation.health))
    survey = survey_of(trace, context, evaluation.health);
  const Knobs at_rest(context.bench.receivers.size());
  const Measured measured = measure(survey, at_rest, survey.history);
  evaluation.points = operating_points(survey, measured);
  Plan plan = plan_of(survey, measured);
  weigh(survey, measured, plan);
  const Conclusion conclusion = conclude(survey, plan, measured, at_rest);
  evaluation.curve = conclusion.curve;
  evaluation.curve_refusal = conclusion.curve_refusal;
  const std::vector<CausePart> parts = parts_by_cause({survey, plan, measured, conclusion});
  evaluation.drawn = drawn_of(conclusion, parts);
  evaluation.metrics = metrics_of(context.model, conclusion, parts);
  evaluation.grade = grade(
      context, trace, {evaluation.health, evaluation.curve, evaluation.metrics, evaluation.drawn});
  evaluation.causes = likely_causes(trace, context, evaluation);
  return evaluation;
}

}  // namespace endgate::analysis
