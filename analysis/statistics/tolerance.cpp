#include "analysis/statistics/tolerance.h"

#include <boost/math/distributions/binomial.hpp>
#include <boost/math/quadrature/gauss_kronrod.hpp>
#include <boost/math/tools/toms748_solve.hpp>
#include <cmath>

#include "analysis/statistics/distribution.h"

namespace endgate::statistics {
namespace {

template <class Function>
double root(Function f, double low, double high) {
  std::uintmax_t steps = 100;
  const auto found = boost::math::tools::toms748_solve(
      f, low, high, boost::math::tools::eps_tolerance<double>(46), steps);
  return (found.first + found.second) / 2;
}

// r with Phi(z + r) - Phi(z - r) = share.
double half_width(double z, double share) {
  const auto short_by = [&](double r) { return normal_below(z + r) - normal_below(z - r) - share; };
  return root(short_by, 0, std::abs(z) + 12);
}

double confidence_of(double k, double n, double share) {
  const auto weighed = [&](double x) {
    const double r = half_width(x / std::sqrt(n), share);
    return chi_square_above((n - 1) * r * r / (k * k), n - 1) * normal_density(x);
  };
  return 2 * boost::math::quadrature::gauss_kronrod<double, 31>::integrate(weighed, 0, 9, 5, 1e-9);
}

}  // namespace

double tolerance_factor_one_sided(double n, const Coverage& coverage) {
  const double shift = normal_quantile(coverage.share) * std::sqrt(n);
  return noncentral_t_quantile(coverage.confidence, n - 1, shift) / std::sqrt(n);
}

double tolerance_factor_two_sided(double n, const Coverage& coverage) {
  // Howe's approximation is within a few per cent; the exact factor lies around it.
  const double howe =
      normal_quantile((1 + coverage.share) / 2) *
      std::sqrt((n - 1) * (1 + 1 / n) / chi_square_quantile(1 - coverage.confidence, n - 1));
  const auto short_by = [&](double k) {
    return confidence_of(k, n, coverage.share) - coverage.confidence;
  };
  return root(short_by, 0.8 * howe, 1.2 * howe);
}

std::size_t tolerance_rank(std::size_t n, const Coverage& coverage) {
  // So many of n lie below the point that `share` lies above.
  const boost::math::binomial below(static_cast<double>(n), 1 - coverage.share);
  std::size_t rank = 0;
  while (rank < n && boost::math::cdf(boost::math::complement(below, static_cast<double>(rank))) >=
                         coverage.confidence)
    ++rank;
  return rank;
}

}  // namespace endgate::statistics
