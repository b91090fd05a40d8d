// How is a number written for a person?
//
// Independent of every locale: decimal point, minus sign U+2212, groups of three from four digits
// on by U+00A0.  Numbers come in display units; U is an expanded uncertainty (k = 2).
//
//   N-1  U to one digit, to two when the first is 1 or 2; the value to the same place
//   N-2  a value never prints on or across a bound it is not on: a digit is added, at most four,
//        then the words "at the limit" stand instead
//   N-3  no uncertainty known is said in words, never "± 0"; missing is a dash

#pragma once

#include <optional>
#include <span>
#include <string>

namespace endgate::reports {

inline constexpr const char* kMissing = "—";
inline constexpr const char* kNoBreak = "\u00A0";

// `decimals` 0 to 12.  Not finite: the dash.
[[nodiscard]] std::string fixed(double value, int decimals);
[[nodiscard]] std::string with_sign(double change, int decimals);  // "+22", "−0.8"

// Decimals at which U shows one digit, or two when its first is 1 or 2.  U > 0.
[[nodiscard]] int decimals_of_uncertainty(double expanded_u);

// A bound as it was written: at least `decimals`, more when it needs them, at most six.
[[nodiscard]] std::string bound_text(double bound, int decimals);

struct Reading {
  std::optional<double> value{};
  std::optional<double> expanded_u{};
  int decimals = 1;  // when no uncertainty says better
};

struct WrittenReading {
  std::string value{};  // "58.7", "at the limit", "—"
  std::string u{};      // "0.6"; empty when not known or missing
  int decimals = 1;
  [[nodiscard]] std::string text(const std::string& unit) const;  // "58.7 ± 0.6 L/min"
};

// `bounds`: limits and acceptance limits that the value is held against (N-2).
[[nodiscard]] WrittenReading write_reading(const Reading& reading,
                                           std::span<const double> bounds = {});

}  // namespace endgate::reports
