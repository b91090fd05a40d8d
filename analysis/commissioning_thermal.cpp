#include "analysis/commissioning_thermal.h"

#include <array>
#include <cmath>
#include <vector>

#include "analysis/conclusion.h"
#include "analysis/leak_test.h"
#include "analysis/least_squares.h"
#include "analysis/measured.h"
#include "analysis/sum.h"

namespace endgate::analysis {
namespace {

constexpr std::size_t kFewestHolds = 3;
constexpr double kLeastWarming_k = 1;
constexpr double kLeastDrift_k_s = 0.001;

struct WarmPoint {
  double head_k = 0;  // above the inlet
  double case_k = 0;
  double ln_speed = 0;
  double ln_current = 0;
  double ln_flow_per_turn = 0;
};

// Voltage and barometer carried to reference, temperature left as it was.
std::vector<WarmPoint> warm_points(const Survey& survey) {
  Knobs knobs(survey.context->bench.receivers.size());
  const Measured measured = measure(survey, knobs, survey.history);
  const Plan plan = plan_of(survey, measured);
  knobs.flow_per_head = knobs.flow_per_case = knobs.speed_per_case = knobs.current_per_case = 0;
  std::vector<WarmPoint> points;
  for (std::size_t i = 0; i < survey.holds.size(); ++i) {
    if (!survey.holds[i].steady || !plan.type) continue;
    const HoldReading& reading = measured.holds[i];
    const Carry carry =
        carry_of(survey.context->model, plan.sensitivities[i], reading.state, knobs);
    const double speed = reading.speed_rev_s * carry.speed;
    points.push_back({reading.state.head_temperature_k - reading.state.inlet_temperature_k,
                      reading.state.case_temperature_k, std::log(speed),
                      std::log(reading.supply_current_a * carry.current),
                      std::log(reading.flow_inlet_m3_s * carry.flow / speed)});
  }
  return points;
}

Outcome<double> slope_of(const std::vector<WarmPoint>& points, double WarmPoint::*x,
                         double WarmPoint::*y) {
  if (points.size() < kFewestHolds)
    return Refusal{RefusalKind::too_few_points, "fewer than three steady holds in a warm run", {}};
  if (!(std::abs(points.back().*x - points.front().*x) >= kLeastWarming_k))
    return Refusal{RefusalKind::span_too_narrow, "the unit did not warm up in the run", {}};
  LinearSystem system(2);
  for (const WarmPoint& point : points)
    system.add(std::array{1.0, point.*x - points.front().*x}, {point.*y, 1e-3});
  const Outcome<LinearFit> fit = solve_least_squares(system);
  if (!fit) return fit.error();
  return fit->parameters[1];
}

Outcome<Spread> slopes_of(const std::vector<std::vector<WarmPoint>>& runs, double WarmPoint::*x,
                          double WarmPoint::*y) {
  std::vector<double> slopes;
  for (const auto& run : runs) {
    const Outcome<double> slope = slope_of(run, x, y);
    if (!slope) return slope.error();
    slopes.push_back(*slope);
  }
  return spread_of(slopes);
}

struct SealLoss {
  double loss_pa_s = 0;
  double per_share_pa_s = 0;
};

// How the loss moves with the share is linear, so two shares tell it.
Outcome<SealLoss> seal_loss(const Survey& survey) {
  Knobs none(survey.context->bench.receivers.size());
  none.case_share = -survey.context->model.thermal.seal_case_share;
  Knobs whole = none;
  whole.case_share += 1;
  const Outcome<LeakReading> without = measure_seal_leak(survey, none);
  if (!without) return without.error();
  const Outcome<LeakReading> with = measure_seal_leak(survey, whole);
  if (!with) return with.error();
  return SealLoss{without->leak_m3_s, with->leak_m3_s - without->leak_m3_s};
}

Outcome<double> share_of(const SealPair& unit) {
  const Outcome<SealLoss> cold = seal_loss(*unit.cold);
  if (!cold) return cold.error();
  const Outcome<SealLoss> warm = seal_loss(*unit.warm);
  if (!warm) return warm.error();
  const double drift = unit.warm->seal_leak->moments[index_of(Role::case_temperature)].slope_s;
  if (!(std::abs(drift) >= kLeastDrift_k_s))
    return Refusal{RefusalKind::span_too_narrow, "the case did not warm in the warm seal test", {}};
  return (cold->loss_pa_s - warm->loss_pa_s) / (warm->per_share_pa_s - cold->per_share_pa_s);
}

}  // namespace

double Spread::u_next(std::size_t runs) const {
  return sd * std::sqrt(1 + 1 / static_cast<double>(runs));
}

Outcome<Spread> spread_of(std::span<const double> values) {
  if (values.size() < 2)
    return Refusal{RefusalKind::too_few_points, "at least two runs are needed", {}};
  const auto count = static_cast<double>(values.size());
  Spread spread;
  spread.mean = sum_over(values.size(), [&](std::size_t i) { return values[i]; }) / count;
  const double squares = sum_over(values.size(), [&](std::size_t i) {
    return (values[i] - spread.mean) * (values[i] - spread.mean);
  });
  spread.sd = std::sqrt(squares / (count - 1));
  return spread;
}

Outcome<WarmRunLearnt> learn_warm_run(std::span<const WarmRun> runs) {
  std::vector<std::vector<WarmPoint>> points;
  for (const WarmRun& run : runs) {
    points.emplace_back();
    for (const Survey* survey : {run.cold_room, run.warm_room}) {
      if (survey == nullptr) continue;
      const std::vector<WarmPoint> more = warm_points(*survey);
      points.back().insert(points.back().end(), more.begin(), more.end());
    }
  }
  const auto speed = slopes_of(points, &WarmPoint::case_k, &WarmPoint::ln_speed);
  if (!speed) return speed.error();
  const auto current = slopes_of(points, &WarmPoint::case_k, &WarmPoint::ln_current);
  if (!current) return current.error();
  const auto flow = slopes_of(points, &WarmPoint::head_k, &WarmPoint::ln_flow_per_turn);
  if (!flow) return flow.error();
  return WarmRunLearnt{*speed, *current, *flow};
}

Outcome<Spread> learn_seal_case_share(std::span<const SealPair> units) {
  std::vector<double> shares;
  for (const SealPair& unit : units) {
    const Outcome<double> share = share_of(unit);
    if (!share) return share.error();
    shares.push_back(*share);
  }
  return spread_of(shares);
}

}  // namespace endgate::analysis
