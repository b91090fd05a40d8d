// Which study of the measurement does a person ask for, in a form, an address or a command?

#pragma once

#include <string>
#include <variant>

#include "daemon/queries/gauge_told.h"
#include "daemon/views/tests_asked.h"

namespace endgate::daemon {

// As written.  Numbers in the metric's display unit, or in SI when `si`.
struct StudyQuestion {
  TestsAsked tests{.purpose = ""};  // no purpose: lab, or every one when serials are named
  std::string serials{};            // "QH2648-0001-Q, QH2648-0002-N"
  std::string by{};                 // bench (also when empty) or person
  std::string repeats{};            // only the first so many tests of each unit at each place
  std::string known{}, known_u{};   // of one unit: its known value and the u of it
  std::string width{};              // of the limits; empty: that of the limits in force
  bool si = false;

  [[nodiscard]] bool one_unit() const { return !known.empty(); }
};

struct StudyRead {
  StudyQuestion question{};  // with the purpose that holds
  TrendFilter filter{};
  StudyAsked asked{};
  OneUnitAsked one_unit{};
};
// Or what is wrong with it.
[[nodiscard]] std::variant<StudyRead, WrongQuestion> read_study(StudyQuestion question,
                                                                const TestsKnown& known);

}  // namespace endgate::daemon
