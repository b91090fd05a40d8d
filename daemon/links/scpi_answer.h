// Which number does this answer of an instrument hold?
//
//   pattern   literal text, `{number}` once, `*` for anything up to the next literal
//
//     "{number}"          12.034        +1.2034E+01       (the default)
//     "VOLT {number} V"   VOLT 12.034 V
//     "*,{number},*"      the second of a list
//
// `*` takes as little as it can and nothing is tried twice, so matching is linear.  Blanks around
// the answer do not count.  Numbers are those of IEEE 488.2 (NR1, NR2, NR3), read without the
// locale. The numbers by which SCPI says "infinite" and "not a number" (9.9E37, 9.91E37; from
// memory) come back as NaN: a measurement that is none.

#pragma once

#include <optional>
#include <string>
#include <string_view>

namespace endgate::daemon {

// Absent: the answer does not fit the pattern.
[[nodiscard]] std::optional<double> number_in(std::string_view answer, std::string_view pattern);

// The error number at the start of `-113,"Undefined header"`; 0 is none.
[[nodiscard]] std::optional<int> error_number_in(std::string_view answer);

[[nodiscard]] std::string_view without_blanks(std::string_view text);

}  // namespace endgate::daemon
