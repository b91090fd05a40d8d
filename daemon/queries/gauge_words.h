// What a gauge study shows, in words of our own, one statement a line.

#pragma once

#include <string>
#include <vector>

#include "daemon/queries/gauge_told.h"

namespace endgate::daemon {

// The parts of a study in the order they are told.
struct PartWords {
  std::string name{};               // "Repeats at one bench"
  std::string sigma{}, interval{};  // "0.20 L/min", "0.17 to 0.25 L/min"
  std::string share{};              // "3.4 % (1.0 to 10.2 %)"
  const statistics::StudyPart* part = nullptr;
};
[[nodiscard]] std::vector<PartWords> parts_of(const GaugeTold& told);

[[nodiscard]] std::vector<std::string> words_of(const GaugeTold& told);
[[nodiscard]] std::vector<std::string> words_of(const OneUnitTold& told);

// The parts of it.
[[nodiscard]] std::string study_words(const GaugeTold& told);  // what was looked at
[[nodiscard]] std::string verdict_words(const GaugeTold& told);
[[nodiscard]] std::vector<std::string> doubt_words(const GaugeTold& told);  // what limits it
[[nodiscard]] std::string pair_words(const GaugeTold& told, const BenchPair& pair);

}  // namespace endgate::daemon
