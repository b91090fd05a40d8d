#include "analysis/cause_sentence.h"

#include <algorithm>
#include <cmath>
#include <vector>

#include "analysis/cause_readings.h"
#include "analysis/say_number.h"

namespace endgate::analysis {
namespace {

using Eigen::Index;

constexpr double kTelling = 3;  // standard deviations of a healthy unit
constexpr double kUsual = 2;
constexpr double kTimes = 1.8;  // from here on a ratio is said as so many times
constexpr std::size_t kMostReadings = 2;

double sigma(const CauseData& data, Index row) { return std::sqrt(data.covariance(row, row)); }

const CauseReading& reading_of(const CauseTable& table, const CauseData& data, Index row) {
  return table.readings[data.rows[static_cast<std::size_t>(row)]];
}

// x / healthy, from the residual.
double ratio_of(const CauseReading& reading, double residual) {
  return reading.logarithmic ? std::sinh(residual + std::asinh(1.0)) : residual + 1;
}

std::string change(const CauseReading& reading, double residual) {
  const double ratio = ratio_of(reading, residual);
  if (ratio < 0) return "of the wrong sign";
  if (ratio >= kTimes) return say_number(ratio, ratio < 10 ? 1 : 0) + " times that";
  const double percent = 100 * std::abs(ratio - 1);
  return say_number(percent, percent < 10 ? 1 : 0) + "\u00A0% " + (ratio < 1 ? "lower" : "higher");
}

// Rows that the cause moves most and that did move its way; one a quantity.
std::vector<Index> telling_rows(const CauseTable& table, const CauseData& data,
                                const CauseTold& cause) {
  std::vector<Index> rows;
  for (Index i = 0; i < data.residual.size(); ++i)
    if (cause.at->shift[i] * data.residual[i] > 0 &&
        std::abs(data.residual[i]) > kTelling * sigma(data, i))
      rows.push_back(i);
  std::ranges::stable_sort(rows, std::greater{},
                           [&](Index i) { return std::abs(cause.at->shift[i]) / sigma(data, i); });
  std::vector<Index> chosen;
  for (const Index row : rows) {
    const std::string_view quantity = quantity_of(reading_of(table, data, row).id);
    const bool said = std::ranges::any_of(chosen, [&](Index other) {
      return quantity_of(reading_of(table, data, other).id) == quantity;
    });
    if (!said && chosen.size() < kMostReadings) chosen.push_back(row);
  }
  return chosen;
}

std::string moved_words(const CauseTable& table, const CauseData& data, Index row, bool first) {
  const CauseReading& reading = reading_of(table, data, row);
  const std::string how = change(reading, data.residual[row]);
  const std::string name = words_of_reading(reading.id);
  if (!first) return " and " + name + " " + how;
  const bool times = how.ends_with("that");
  return capitalised(name) + " is " + how +
         (how.ends_with("sign") ? ""
          : times               ? " of a healthy unit"
                                : " than of a healthy unit");
}

// The reading that tells cause and rival apart best, when it sides with the cause.
std::string against(const CauseTable& table, const CauseData& data, const CauseTold& cause,
                    const CauseTold& rival, const std::vector<Index>& said) {
  Index best = -1;
  double most = kTelling;
  for (Index i = 0; i < data.residual.size(); ++i) {
    const double apart = std::abs(cause.at->shift[i] - rival.at->shift[i]) / sigma(data, i);
    const bool sides = std::abs(data.residual[i] - cause.at->shift[i]) <
                       std::abs(data.residual[i] - rival.at->shift[i]);
    if (!sides || apart <= most || std::ranges::find(said, i) != said.end()) continue;
    most = apart;
    best = i;
  }
  if (best < 0) return "";
  const CauseReading& reading = reading_of(table, data, best);
  const bool usual = std::abs(data.residual[best]) < kUsual * sigma(data, best);
  return words_of_reading(reading.id) + " is " +
         (usual ? "as usual" : change(reading, data.residual[best])) + ", which speaks against " +
         rival.hypothesis->name;
}

std::string sign_words(const CauseData& data) {
  if (data.sign.empty()) return "";
  if (data.sign == "no_start") return "The unit did not start in time";
  std::string limit = data.sign;
  std::ranges::replace(limit, '_', ' ');
  return "The test ended at its limit of " + limit;
}

std::string join(std::string first, const std::string& second) {
  if (first.empty()) return capitalised(second);
  return second.empty() ? first : first + "; " + second;
}

}  // namespace

std::string name_of_group(std::span<const CauseTold> members) {
  std::string name;
  for (std::size_t i = 0; i < members.size(); ++i) {
    const bool last = i + 1 == members.size();
    name += (i == 0 ? "" : last ? " or " : ", ") + members[i].hypothesis->name;
  }
  return capitalised(name);
}

std::string told_apart_by(std::span<const CauseTold> members) {
  if (members.size() < 2) return "";
  std::string said;
  for (const CauseTold& member : members) {
    if (member.hypothesis->check.empty()) continue;
    said += (said.empty() ? "" : "; ") + member.hypothesis->check;
  }
  return said.empty() ? "" : "This test cannot tell them apart: " + said + ".";
}

std::string evidence_of(const CauseTable& table, const CauseData& data, const CauseTold& cause,
                        const std::optional<CauseTold>& rival) {
  std::string moved;
  const std::vector<Index> rows = telling_rows(table, data, cause);
  for (const Index row : rows) moved += moved_words(table, data, row, moved.empty());
  std::string said = join(sign_words(data), moved);
  if (rival) said = join(said, against(table, data, cause, *rival, rows));
  return said.empty() ? "No reading stands out by itself." : said + ".";
}

}  // namespace endgate::analysis
