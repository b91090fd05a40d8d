// How is a number written for a person, and when does it need one digit more?
//
// Locale independent.  Minus is U+2212, thousands are set apart by U+00A0 from four digits on, the
// decimal sign is a point (pages of another language replace it).
//
//   SN-1  An uncertainty U is said with one digit, two if its first is 1 or 2; the value with the
//         same places: 58.7 ± 0.6.
//   SN-2  If rounding would put a value on or across a bound, digits are added until it shows its
//         true side, at most four.
//   SN-3  Zero carries no sign.
//   SN-4  A probability is said in whole per cent and never as certain: "over 99 %", "under 1 %".
//
// `places` are decimals after the point; negative ones round to tens, hundreds, ...

#pragma once

#include <optional>
#include <span>
#include <string>

namespace endgate::analysis {

inline constexpr int kExtraPlaces = 4;  // SN-2
inline constexpr const char* kNoBreakSpace = "\u00A0";

// The places at which U is said (SN-1).  U > 0 and finite, else `fallback`.
[[nodiscard]] int places_for(double uncertainty, int fallback);

[[nodiscard]] std::string say_number(double value, int places);

// A bound as it was written: at least `places`, more if it has more (up to ten digits).
[[nodiscard]] std::string say_bound(double bound, int places);

// SN-4; 0 <= probability <= 1.
[[nodiscard]] std::string say_probability(double probability);

// The fewest places, from `places` on, at which the rounded value lies on the same side of every
// bound as the value itself (SN-2); missing when four more do not help, or it lies on one.
[[nodiscard]] std::optional<int> places_apart(double value, int places,
                                              std::span<const double> bounds);

// "flow at 400 kPa" -> "Flow at 400 kPa" (ASCII first letters only).
[[nodiscard]] std::string capitalised(std::string text);

}  // namespace endgate::analysis
