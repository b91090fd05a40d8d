// What does a function return when the data do not allow an answer?
//
// An Outcome<T>: either the answer or a Refusal that names the culprit.  A refusal is a value the
// caller acts on; a fault (disk, device) is an exception elsewhere; a bug is an assertion.

#pragma once

#include <boost/system/result.hpp>
#include <cstddef>
#include <optional>
#include <stdexcept>
#include <string>

namespace endgate::analysis {

enum class RefusalKind {
  too_few_points,
  non_finite_input,
  value_out_of_domain,
  span_too_narrow,
  outside_fitted_range,
  not_steady,
  missing_channel,
  sick_channel,
  missing_step,
  correction_out_of_range,
  singular,
};

struct Refusal {
  RefusalKind kind;
  std::string detail;                // one plain clause for a person
  std::optional<std::size_t> index;  // the point or channel at fault, when one is
};

template <class T>
using Outcome = boost::system::result<T, Refusal>;

// Found by boost::system::result when value() is called on a refusal: a bug of the caller.
[[noreturn]] inline void throw_exception_from_error(const Refusal& refusal,
                                                    const boost::source_location&) {
  throw std::logic_error("value of a refused outcome: " + refusal.detail);
}

}  // namespace endgate::analysis
