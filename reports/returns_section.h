// The part of a page that tells which units came back, after how long, and who could have known.

#pragma once

#include <string>
#include <vector>

#include "reports/return_curve.h"
#include "reports/share_bars.h"

namespace endgate::reports {

struct AgeRow {
  std::string age{}, out{}, units{};  // "6 months", "99.4 % (98.0 to 99.8 %)", in use that long
};
struct TellsRow {
  std::string metric{}, ratio{}, chance{}, returns{};
  bool told = false;
};
struct AgreementRow {
  std::string found{}, first{}, among_two{}, repairs{};
};

struct ReturnsShown {
  std::string back{};                // the most important sentence
  std::vector<std::string> notes{};  // what is left out, what is assumed
  ReturnCurve curve{};               // no step: not drawn
  std::string form{};
  std::vector<AgeRow> ages{};
  std::string metrics_said{};
  std::vector<TellsRow> metrics{};
  std::string agreement_said{};
  std::vector<AgreementRow> agreement{};
  std::vector<ShareBar> quarters{};  // of agreement, oldest first
};

[[nodiscard]] Node section_of(const ReturnsShown& shown);

}  // namespace endgate::reports
