#include "analysis/commissioning_thermal.h"

#include <cmath>
#include <vector>

#include "analysis/leak_test.h"
#include "analysis/sum.h"

namespace endgate::analysis {
namespace {

constexpr double kLeastDrift_k_s = 0.001;

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
