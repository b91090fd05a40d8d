// What do all units of a model say together: do they fit inside their limits, why do they not pass,
// and what would another limit change?

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "reports/form.h"
#include "reports/histogram.h"
#include "reports/node.h"
#include "reports/returns_section.h"
#include "reports/ruler.h"
#include "reports/share_bars.h"

namespace endgate::reports {

// A number with its interval, both in words; empty: there is none.
struct IndexWords {
  std::string value{}, interval{};
};

struct FitRow {
  std::string metric{}, href{};
  std::string units{}, mean{}, inside_batches{}, over_all{};  // the last two: scatter
  std::string limits{};
  std::optional<Ruler> ruler{};  // mean with 3 standard deviations against the nearer limit
  IndexWords room_inside{}, room_all{}, width_inside{}, width_all{};
  IndexWords by_percentiles{};  // its second line says by what form, and when this one counts
  std::string proposal{};       // "above 47.2"
};

struct ShareRow {
  std::string name{}, share{};
};

struct PopulationPage {
  std::string heading{};
  QuestionForm form{};
  std::vector<std::string> statements{};  // the first is the most important
  std::vector<FitRow> fits{};
  std::vector<std::string> left_out{};  // units far from all others, a sentence for each metric

  std::vector<ShareRow> shares{};
  std::vector<ShareBar> reasons{}, causes{};
  std::string reasons_words{}, causes_words{};
  std::vector<std::string> stops{};  // by bench and person, a sentence each

  QuestionForm draft{};
  std::string draft_refusal{};             // what is wrong with the draft
  std::vector<std::string> draft_words{};  // what it would change
  std::optional<Histogram> histogram{};
  std::vector<std::pair<std::string, std::string>> changed{};  // serial, address
  std::size_t changed_more = 0;                                // that are not listed

  std::optional<ReturnsShown> returns{};
  std::string returns_href{};  // where to ask for them; empty: they are shown
  std::vector<std::pair<std::string, std::string>>
      more{};  // questions on other pages: words, address
};

[[nodiscard]] std::string page_of(const PopulationPage& page);

}  // namespace endgate::reports
