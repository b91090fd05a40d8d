// What moved, since when?
//
// One metric over batches: what is said of it, each batch on each bench, and the charts of batch
// means as measured and with the bench effect taken out side by side.  Or over single units.

#pragma once

#include <string>
#include <utility>
#include <vector>

#include "reports/batch_chart.h"
#include "reports/form.h"
#include "reports/node.h"
#include "reports/trend_chart.h"

namespace endgate::reports {

struct TrendRowWords {
  std::string place{}, bench{}, count{}, value{}, whisker{}, href{};
};

struct WordTable {
  std::string heading{};
  std::vector<std::string> columns{};
  std::vector<std::vector<std::string>> rows{};
  std::size_t text_columns = 1;      // from the left; the others are numbers
  std::vector<std::string> hrefs{};  // of the first column, row by row; empty: no links
};

// One kind of chart, twice.
struct ChartPair {
  std::string heading{}, short_name{};  // "Running mean", in the tooltip "EWMA"
  std::string words{};                  // what is drawn, and how often it is wrong
  struct Half {
    std::string sentence{};
    BatchChart chart{};
  };
  Half measured{}, without_bench{};  // one without a sentence is not shown
};

// One chart as wide as the page.
struct TogetherPart {
  std::string heading{}, short_name{}, sentence{};  // without a sentence: not shown
  std::string words{};
  BatchChart chart{};
  WordTable signals{};
};

struct TrendPage {
  std::string heading{};
  QuestionForm form{};
  std::vector<std::string> statements{};  // the first is the most important
  std::string key_words{};
  std::string ring_words{};  // what a ring around a mark and a whisker mean
  TrendChart chart{};
  std::string whisker_title{};  // "± U" or "95 % of units"
  std::vector<TrendRowWords> rows{};
  std::vector<ChartPair> pairs{};
  std::vector<WordTable> tables{};  // two of them side by side
  std::string more_words{}, more_href{};
  std::vector<std::pair<std::string, std::string>> questions{};  // words and address, below that
  std::string together_href{};         // where to ask for several metrics together; empty: no link
  WordTable numbers{};                 // of the charts, folded away
  std::vector<std::string> control{};  // which control limits rule, and how often they are wrong
  WordTable signals{};                 // of the rules in force
  std::string no_signal_words{};       // shown when there are none; empty: nothing can be said
  TogetherPart together{};
};

[[nodiscard]] std::string page_of(const TrendPage& trend);

// A page that says what cannot be answered, above the form it was asked with.
[[nodiscard]] std::string refusal_page(const std::string& here, const std::string& heading,
                                       const std::string& sentence, const QuestionForm& form);

}  // namespace endgate::reports
