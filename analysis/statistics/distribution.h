// Tail areas and quantiles that the statistics of this folder rest on.
//
// Arguments are made by our own code and are inside their domain (asserted by Boost.Math, which
// does the work); what comes from a person is checked before.  Accuracy: that of Boost.Math.

#pragma once

namespace endgate::statistics {

[[nodiscard]] double normal_density(double z);
[[nodiscard]] double normal_below(double z);
[[nodiscard]] double normal_quantile(double probability);
[[nodiscard]] double t_two_sided(double t, double freedom);  // P(|T| > |t|)
[[nodiscard]] double t_quantile(double probability, double freedom);
[[nodiscard]] double chi_square_above(double x, double freedom);
[[nodiscard]] double chi_square_quantile(double probability, double freedom);
[[nodiscard]] double f_above(double f, double freedom1, double freedom2);
[[nodiscard]] double f_quantile(double probability, double freedom1, double freedom2);
[[nodiscard]] double beta_quantile(double probability, double a, double b);
[[nodiscard]] double noncentral_t_quantile(double probability, double freedom, double shift);

}  // namespace endgate::statistics
