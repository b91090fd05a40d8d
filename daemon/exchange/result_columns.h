// Which columns has a file of results?
//
// One row is one test, with two columns for every metric: `fad_400 [L/min]` and its standard
// uncertainty `fad_400.u [L/min]`.  A row per test rather than per metric, because that is what a
// spreadsheet has, a number stands beside its verdict, and facts of a test are not repeated twelve
// times.  The unit is part of the name, so that nobody's m3/s are taken for L/min.
//
// Files that come in may have the columns in any order, and only some of them.

#pragma once

#include <array>
#include <string>
#include <string_view>
#include <vector>

#include "analysis/metric_facts.h"

namespace endgate::daemon {

// position      of the fact in its store
// origin        measured; simulated; imported
// source        of an imported result: what it was read from
// start         UTC, "2026-11-25T10:42:00.123Z"
// reasons       "code subject; code", the deciding one first
// extrapolated  metrics whose value lies beyond the operating points: "fad_0 fad_800"
inline constexpr std::array<std::string_view, 16> kFactColumns{
    "position", "origin",  "source",       "serial",      "attempt", "model",
    "bench",    "batch",   "purpose",      "start",       "cycle_s", "verdict",
    "standing", "reasons", "likely_cause", "extrapolated"};

// Of these a file that comes in may have, and nothing is kept: they say what another store said.
inline constexpr std::array<std::string_view, 4> kColumnsOfAnotherStore{"position", "origin",
                                                                        "source", "standing"};

enum class ResultUnits { as_shown, si };  // as people see them, or as they are kept

// shown = factor * SI + offset
struct MetricColumn {
  std::string name{};
  std::string_view metric{};
  bool is_u = false;
  double factor = 1, offset = 0;
};
// A metric's value, then its uncertainty, in the order of the table of metrics.
[[nodiscard]] std::vector<MetricColumn> metric_columns(ResultUnits units);

}  // namespace endgate::daemon
