// Is a cause of uncertainty a test's own, or does it move several tests alike?
//
// Causes are named in UncertaintyPart::cause: "random" and "random/..." are independent in each
// test; every other name, such as "calibration north@1/flow", is shared by all tests that have it.
//
// "model", "correction ..." and "constants ..." each join several independent errors of the one test
// into one part with the sign of the largest (analysis/uncertainty_by_cause.h): of two metrics it is
// not known which of them leads, so their parts must not be subtracted from each other.

#pragma once

#include <string_view>

namespace endgate::analysis {

constexpr bool is_random(std::string_view cause) {
  return cause == "random" || cause.starts_with("random/");
}

constexpr bool joins_several(std::string_view cause) {
  return cause == "model" || cause.starts_with("correction ") || cause.starts_with("constants ");
}

}  // namespace endgate::analysis
