#include "daemon/cli/tell_moves.h"

#include <algorithm>
#include <vector>

#include "daemon/cli/text_table.h"
#include "daemon/queries/csv.h"
#include "daemon/views/trend_words.h"

namespace endgate::daemon {
namespace {

constexpr int kMoveDigits = 2;

std::string signed_number(double number) {
  return (number > 0 ? "+" : "") + csv_number(number, kMoveDigits);
}

// Those that occur on either side, in the order people know them in.
std::vector<std::string> verdicts_in(const Moves& moves) {
  std::vector<std::string> words;
  for (const char* word : {"pass", "fail", "undecided", "void"})
    if (std::ranges::any_of(moves.verdict_table(), [&](const auto& each) {
          return each.first.first == word || each.first.second == word;
        }))
      words.emplace_back(word);
  return words;
}

void tell_verdicts(const Moves& moves, const SidesNamed& names, std::ostream& out) {
  const std::vector<std::string> words = verdicts_in(moves);
  std::vector<TextRow> rows{{names.before + " \\ " + names.after}};
  rows.front().insert(rows.front().end(), words.begin(), words.end());
  for (const std::string& before : words) {
    TextRow& row = rows.emplace_back(TextRow{before});
    for (const std::string& after : words) {
      const auto found = moves.verdict_table().find({before, after});
      row.push_back(std::to_string(found == moves.verdict_table().end() ? 0 : found->second));
    }
  }
  write_table(rows, out);
}

TextRow row_of(const std::string& id, const MetricMoves& metric) {
  const bool in_u = metric.moved > metric.without_u;
  return {id,
          std::to_string(metric.tests),
          std::to_string(metric.moved),
          in_u ? signed_number(metric.mean_u()) : "",
          in_u ? signed_number(metric.largest_u) : "",
          std::to_string(metric.u_moved),
          metric.u_moved > 0 ? csv_number(metric.largest_u_ratio, 1 + kMoveDigits) : "",
          std::to_string(metric.appeared),
          std::to_string(metric.vanished),
          metric.largest_of};
}

void tell_metrics(const Moves& moves, std::ostream& out) {
  std::vector<TextRow> rows{{"metric", "tests", "moved", "mean, in u", "largest, in u", "u moved",
                             "largest, times", "appeared", "vanished", "largest in"}};
  for (const auto& [id, metric] : moves.metrics())
    if (metric.any()) rows.push_back(row_of(id, metric));
  if (rows.size() > 1) write_table(rows, out);
}

void tell_parts(const Moves& moves, std::ostream& out) {
  std::string all;
  for (const auto& [name, count] : moves.parts())
    all += (all.empty() ? "" : ", ") + name + " of " + counted(count, "test");
  if (!all.empty()) out << "not equal in every bit: " << all << "\n";
}

std::string conclusion(const Moves& moves) {
  const std::string compared = counted(moves.tests(), "test") + " compared: ";
  if (moves.equal() == moves.tests()) return compared + "nothing moves, equal bit for bit";
  if (!moves.any()) return compared + "no verdict moves, and no number by more than rounding";
  return compared + counted(moves.verdicts(), "verdict") + " and " +
         counted(moves.numbers(), "number") + " in " + counted(moves.tests_with_numbers(), "test") +
         " would move";
}

}  // namespace

std::string verdict_move_words(const std::string& test, const Judgement& before,
                               const Judgement& after) {
  const auto because = [](const char* when, const std::string& reason) {
    return reason.empty() ? "" : std::string(" ") + when + ": " + reason;
  };
  return test + ": was " + before.verdict + ", is " + after.verdict + "." +
         because("Before", before.reason) + because("Now", after.reason);
}

void tell_moves(const Moves& moves, const SidesNamed& names, std::ostream& out) {
  if (moves.tests() == 0) return;
  tell_verdicts(moves, names, out);
  tell_metrics(moves, out);
  tell_parts(moves, out);
  out << conclusion(moves) << "\n";
}

}  // namespace endgate::daemon
