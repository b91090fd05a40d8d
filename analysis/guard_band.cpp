#include "analysis/guard_band.h"

#include "analysis/distributions.h"

namespace endgate::analysis {

Outcome<double> guard_factor_at_risk(double risk) {
  if (!(risk > 0 && risk <= 0.5))
    return Refusal{RefusalKind::value_out_of_domain, "a risk must lie above 0 and at most at 0.5",
                   std::nullopt};
  return normal_quantile(1 - risk);
}

Outcome<double> guard_factor_at_cost(double cost_ratio) {
  return normal_quantile(cost_ratio / (1 + cost_ratio));
}

}  // namespace endgate::analysis
