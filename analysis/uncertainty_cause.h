// Is a cause of uncertainty a test's own, or does it move several tests alike?
//
// Causes are named in UncertaintyPart::cause: "random" and "random/..." are independent in each
// test; every other name, such as "calibration north@1/flow", is shared by all tests that have it.

#pragma once

#include <string_view>

namespace endgate::analysis {

constexpr bool is_random(std::string_view cause) {
  return cause == "random" || cause.starts_with("random/");
}

}  // namespace endgate::analysis
