// What does the line page of one bench show?  Finished words and drawings; daemon/views makes it,
// the page's script only places it.

#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "reports/node.h"

namespace endgate::reports {

struct LimitRow {
  std::string name{};   // "Supply current, 600 kPa"
  std::string value{};  // "7.12 ± 0.05 A"
  std::string limit{};  // "at most 7.40"
  Node ruler{};
};

struct RailMark {
  std::string name{};
  std::string state{};  // "to-come", "now", "done", "broken"
};

struct LiveCell {
  std::string name{}, value{}, unit{};
  std::string note{};  // why there is no value: "no data"
};

struct Choice {
  std::string key{};   // "1"
  std::string name{};  // "After repair"
};

struct LineView {
  std::uint64_t version = 0;
  std::string bench{}, bench_name{};
  std::string look{};   // "free", "ready", "running", "pass", "out-of-use", ...: sign, field, edges
  std::string word{};   // "PASS"
  std::string about{};  // "QH2648-0117-K · model P1-60-12 · attempt 1"
  std::string serial{};   // of `about`, leads to the unit page
  std::string purpose{};  // of a test that is no first one of production: "Reference test"
  std::string standing{};
  bool act = false;  // somebody must do something: blue edge
  std::string next_caption{}, next{}, note{};
  std::string why_caption{}, sentence{};
  std::vector<LimitRow> limits{};  // at most three
  std::vector<std::string> paragraphs{};
  std::vector<Choice> choices{};
  bool may_start = false, may_clear = false;
  Node sign{};
  Node curve{};         // for one bench on the page
  Node curve_narrow{};  // for benches side by side
  std::vector<RailMark> rail{};
  std::vector<LiveCell> live{};
  std::string title{};   // of the page
  std::string status{};  // for role=status
  std::string sound{};   // "pass", "fail", "undecided", "void", "attention", "alarm" or empty
  std::string batch{};
  bool simulated = false;
  bool trial = false;  // a lab trial without a curve: its words take the place of the chart
};

}  // namespace endgate::reports
