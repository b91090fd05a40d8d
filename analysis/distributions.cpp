#include "analysis/distributions.h"

#include <boost/math/distributions/chi_squared.hpp>
#include <boost/math/distributions/normal.hpp>
#include <boost/math/distributions/students_t.hpp>
#include <cmath>

#include "analysis/refused.h"

namespace endgate::analysis {
namespace {

namespace bm = boost::math;
namespace bp = boost::math::policies;

// Every error of Boost.Math comes back as a value; `checked` turns it into a refusal (DI-1).
using Quiet = bp::policy<bp::domain_error<bp::ignore_error>, bp::pole_error<bp::ignore_error>,
                         bp::overflow_error<bp::ignore_error>, bp::rounding_error<bp::ignore_error>,
                         bp::evaluation_error<bp::ignore_error>, bp::promote_double<false>>;
using Normal = bm::normal_distribution<double, Quiet>;
using Student = bm::students_t_distribution<double, Quiet>;
using ChiSquare = bm::chi_squared_distribution<double, Quiet>;

Outcome<double> checked(double value) {
  if (!std::isfinite(value)) return out_of_domain("the quantile is not finite");
  return value;
}

bool inside_unit(double probability) { return probability > 0 && probability < 1; }

bool usable_degrees(double degrees) { return degrees > 0 && std::isfinite(degrees); }

constexpr const char* kProbability = "a probability must lie between 0 and 1";
constexpr const char* kDegrees = "degrees of freedom must be positive";

}  // namespace

double normal_cdf(double z) { return 0.5 * std::erfc(-z / std::sqrt(2.0)); }

Outcome<double> normal_quantile(double probability) {
  if (!inside_unit(probability)) return out_of_domain(kProbability);
  return checked(bm::quantile(Normal(), probability));
}

Outcome<double> student_coverage_factor(double confidence, double degrees_of_freedom) {
  if (!inside_unit(confidence)) return out_of_domain(kProbability);
  if (!usable_degrees(degrees_of_freedom)) return out_of_domain(kDegrees);
  return checked(bm::quantile(bm::complement(Student(degrees_of_freedom), (1 - confidence) / 2)));
}

Outcome<double> chi_square_quantile(double probability, double degrees_of_freedom) {
  if (!inside_unit(probability)) return out_of_domain(kProbability);
  if (!usable_degrees(degrees_of_freedom)) return out_of_domain(kDegrees);
  return checked(bm::quantile(ChiSquare(degrees_of_freedom), probability));
}

Outcome<double> chi_square_upper_tail(double chi_square, double degrees_of_freedom) {
  if (!(chi_square >= 0) || !std::isfinite(chi_square))
    return out_of_domain("chi-square must not be negative");
  if (!usable_degrees(degrees_of_freedom)) return out_of_domain(kDegrees);
  return checked(bm::cdf(bm::complement(ChiSquare(degrees_of_freedom), chi_square)));
}

}  // namespace endgate::analysis
