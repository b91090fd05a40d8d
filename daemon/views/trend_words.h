// Numbers and tables of a trend in words: levels, sizes and changes in the metric's display unit.

#pragma once

#include <string>
#include <vector>

#include "daemon/queries/batch_charts.h"
#include "daemon/views/trend_charts_view.h"
#include "reports/trend_page.h"

namespace endgate::daemon {

[[nodiscard]] std::string counted(std::size_t count, const std::string& thing);  // "1 unit"

// SI in; `more` decimals than single tests are shown with.
[[nodiscard]] std::string level_number(const std::string& metric, double si, int more);
[[nodiscard]] std::string level_words(const std::string& metric, double si, int more);
// Of a scatter or a difference, one decimal more than a level.
[[nodiscard]] std::string size_number(const std::string& metric, double si);
[[nodiscard]] std::string size_words(const std::string& metric, double si);
[[nodiscard]] std::string change_words(const std::string& metric, double si);  // "−1.9 L/min"
// "−1.9 ± 0.3 L/min", k = 2.
[[nodiscard]] std::string change_words(const std::string& metric, double si, double u);

// Without rows when no cause stands out.
[[nodiscard]] reports::WordTable cause_table(const TrendTold& told);
[[nodiscard]] reports::WordTable change_table(const TrendTold& told, const ChartsOfBatches& charts,
                                              const std::vector<LetteredChange>& lettered);
// The newest first; without rows when no rule is broken.
[[nodiscard]] reports::WordTable signal_table(const TrendTold& told);
[[nodiscard]] reports::WordTable number_table(const TrendTold& told, const ChartsOfBatches& charts);

}  // namespace endgate::daemon
