// What are a metric and a channel called inside a sentence, and in which unit are they said?

#pragma once

#include <string>
#include <string_view>

#include "analysis/context.h"
#include "analysis/role.h"

namespace endgate::analysis {

// shown = factor * SI + offset
struct SaidUnit {
  std::string_view name;  // "L/min"
  double factor = 1;
  double offset = 0;
  int decimals = 1;  // where no uncertainty says better

  [[nodiscard]] double shown(double si) const { return factor * si + offset; }
};

struct Words {
  std::string name;  // lower case: "flow at 400 kPa", "supply current"
  SaidUnit unit;
};

// A metric, or another thing that a limit may be on (analysis/limit_subject.h).  An id that is
// neither speaks for itself, in SI.
[[nodiscard]] Words words_of_metric(std::string_view metric_id);

[[nodiscard]] Words words_of_role(Role role);

// A channel is called by its role; by its id when the bench does not know it.
[[nodiscard]] Words words_of_channel(const BenchFacts& bench, std::string_view channel_id);

// "42.1 L/min", "950 kPa gauge", held together by U+00A0.
[[nodiscard]] std::string with_unit(const std::string& number, const SaidUnit& unit);

// The same for a difference or a width, which is neither gauge nor absolute: "30 kPa"; and of
// percentages "3 percentage points".
[[nodiscard]] std::string difference_with_unit(const std::string& number, const SaidUnit& unit);

}  // namespace endgate::analysis
