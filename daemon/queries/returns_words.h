// After how long units come back and who does, in words of our own, one statement a line.

#pragma once

#include <string>
#include <vector>

#include "daemon/queries/returns_told.h"

namespace endgate::daemon {

// Ages at which the share still out is said, as far as units were in use that long.
inline constexpr double kAgesTold[] = {1, 3, 6, 12, 24, 36, 60, 120};

[[nodiscard]] std::vector<std::string> words_of(const ReturnsTold& told);

// The parts of it.
[[nodiscard]] std::string back_words(const ReturnsTold& told);
[[nodiscard]] std::string left_out_words(const ReturnsTold& told);  // empty: none was
[[nodiscard]] std::string out_words(const ReturnsTold& told,
                                    double months);  // "99.4 % (98 to 99.8 %)"
[[nodiscard]] std::string form_words(const ReturnsTold& told);
[[nodiscard]] std::string metrics_words(const ReturnsTold& told);        // what can be told at all
[[nodiscard]] std::string without_bound_words(const ReturnsTold& told);  // of metrics, if any
[[nodiscard]] std::string ratio_words(const ReturnsTold::Tells& tells);  // "2.31 (1.60 to 3.34)"
inline constexpr const char* kReturnsAssume =
    "Units not known to be back count as in use since their birth test, up to the newest thing "
    "kept here. When they were sold is not known, so this overstates their time in use and "
    "understates how many come back; so do returns that nobody entered.";

}  // namespace endgate::daemon
