// Which numbers of a test speak about causes?
//
// Every metric that has a value, and how current and speed of the other holds compare with those
// at 600 kPa in the same test ("current_0_600": the current at 0 kPa over that at 600 kPa, 1): a
// ratio within one test, in which gains and the supply cancel.
//
//   sign   the over-limit that ended the test ("no_start", "supply_current_max"), else empty

#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "analysis/evaluation.h"
#include "analysis/raw_trace.h"

namespace endgate::analysis {

struct NamedReading {
  std::string id;
  double value = 0;
};

// "flow_400" -> "flow": what a reading measures.
[[nodiscard]] inline std::string_view quantity_of(std::string_view id) {
  return id.substr(0, id.find('_'));
}

// All that this test gives.
[[nodiscard]] std::vector<NamedReading> cause_readings(const Evaluation& evaluation);

[[nodiscard]] std::string cause_sign(const RawTrace& trace);

// "flow at 400 kPa", "current at 0 kPa against that at 600 kPa": inside a sentence.
[[nodiscard]] std::string words_of_reading(std::string_view id);

}  // namespace endgate::analysis
