#include "analysis/statistics/distribution.h"

#include <boost/math/distributions/beta.hpp>
#include <boost/math/distributions/chi_squared.hpp>
#include <boost/math/distributions/fisher_f.hpp>
#include <boost/math/distributions/non_central_t.hpp>
#include <boost/math/distributions/normal.hpp>
#include <boost/math/distributions/students_t.hpp>
#include <cmath>
#include <numbers>

namespace endgate::statistics {

namespace bm = boost::math;

double normal_density(double z) { return std::exp(-0.5 * z * z) / std::sqrt(2 * std::numbers::pi); }

double normal_below(double z) { return 0.5 * std::erfc(-z / std::sqrt(2.0)); }

double normal_quantile(double probability) { return bm::quantile(bm::normal(), probability); }

double t_two_sided(double t, double freedom) {
  return 2 * bm::cdf(bm::complement(bm::students_t(freedom), std::abs(t)));
}

double t_quantile(double probability, double freedom) {
  return bm::quantile(bm::students_t(freedom), probability);
}

double chi_square_above(double x, double freedom) {
  return bm::cdf(bm::complement(bm::chi_squared(freedom), x));
}

double chi_square_quantile(double probability, double freedom) {
  return bm::quantile(bm::chi_squared(freedom), probability);
}

double f_above(double f, double freedom1, double freedom2) {
  return bm::cdf(bm::complement(bm::fisher_f(freedom1, freedom2), f));
}

double f_quantile(double probability, double freedom1, double freedom2) {
  return bm::quantile(bm::fisher_f(freedom1, freedom2), probability);
}

double beta_quantile(double probability, double a, double b) {
  return bm::quantile(bm::beta_distribution<>(a, b), probability);
}

double noncentral_t_quantile(double probability, double freedom, double shift) {
  return bm::quantile(bm::non_central_t(freedom, shift), probability);
}

}  // namespace endgate::statistics
