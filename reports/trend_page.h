// What moved, since when?

#pragma once

#include <string>
#include <vector>

#include "reports/node.h"
#include "reports/trend_chart.h"

namespace endgate::reports {

struct TrendMenu {
  std::string name{};  // "Metric"
  struct Entry {
    std::string words{}, href{};
    bool chosen = false;
  };
  std::vector<Entry> entries{};
};

struct TrendRowWords {
  std::string place{}, bench{}, count{}, value{}, whisker{}, href{};
};

struct TrendPage {
  std::string heading{}, sentence{}, key_words{};
  std::string ring_words{};  // what a ring around a mark means
  std::vector<TrendMenu> menus{};
  TrendChart chart{};
  std::string whisker_title{};  // "± U" or "95 % of units"
  std::vector<TrendRowWords> rows{};
};

[[nodiscard]] std::string page_of(const TrendPage& trend);

}  // namespace endgate::reports
