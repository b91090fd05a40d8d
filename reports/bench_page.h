// Can this bench be trusted today, and what is due?

#pragma once

#include <string>
#include <vector>

#include "reports/node.h"
#include "reports/trend_chart.h"

namespace endgate::reports {

struct BenchChannelRow {
  std::string name{}, now{}, calibrated{}, due{}, numbers{}, href{};
  bool overdue = false;
};
struct BenchCheckRow {
  std::string when{}, what{}, found{}, outcome{}, by{};
  std::string position{};  // by which a mistaken entry is withdrawn
};
struct BenchPartRow {
  std::string name{}, used{}, due{};
};
struct CalibrationVersionRow {
  std::string version{}, when{}, by{}, why{};
};

struct BenchPage {
  std::string heading{}, sentence{};
  std::vector<std::string> due{};  // one plain line each
  std::vector<BenchChannelRow> channels{};
  TrendChart reference{};
  std::string reference_words{};
  std::vector<BenchCheckRow> checks{};
  std::vector<BenchPartRow> parts{};
  std::vector<CalibrationVersionRow> history{};
};
[[nodiscard]] std::string page_of(const BenchPage& bench);

struct BenchListRow {
  std::string name{}, href{}, sentence{};
  std::vector<std::string> lines{};  // what is due, open, read last and valid until when
};
[[nodiscard]] std::string benches_page(const std::vector<BenchListRow>& benches);

// One table with a heading and its rows as words; nothing for no rows.
[[nodiscard]] Node word_table(const std::string& heading, const std::vector<std::string>& columns,
                              const std::vector<std::vector<std::string>>& rows);

}  // namespace endgate::reports
