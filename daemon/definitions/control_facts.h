// kind = "control": between which limits one metric of one model runs while nothing disturbs it, as
// a person froze them from a stated span of tests.
//
// Each accepted text is a new version of its subject ("P1-60-12 fad_400", "P1-60-12 fad_400
// north").  A version judges the batches whose first test lies behind `behind_position`; so older
// batches keep the limits of their time.  The text stands alone: with it and a batch anybody can
// say whether a rule is broken.  Units: SI of the metric.

#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "analysis/statistics/control_limits.h"

namespace endgate::daemon {

// The tests that the limits come from.
struct ControlSpan {
  std::string first_batch, last_batch;
  std::int64_t first_position = 0, last_position = 0;
  std::int64_t batches = 0, tests = 0;
  std::vector<std::string> left_out;  // batches of the span that do not count
};

struct ControlFacts {
  std::string model, metric;
  std::string bench;  // empty: all benches together
  std::string purpose = "production";
  statistics::ControlLimits limits;
  statistics::ControlRules rules;
  statistics::PromisedRunLength run_length;  // batches
  ControlSpan from;
  std::int64_t behind_position = 0;
};

[[nodiscard]] std::string control_subject(const std::string& model, const std::string& metric,
                                          const std::string& bench);

// Reads back as the same facts.
[[nodiscard]] std::string text_of(const ControlFacts& facts);

}  // namespace endgate::daemon
