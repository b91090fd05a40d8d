// After how many units is a drift of 1 % seen, by whom is it said, and how often is one seen that is
// not there?  Invented histories from fixed seeds; counted, so every run says the same.
//
//   drift_benchmark [HISTORIES [BATCHES_BETWEEN_QUESTIONS]]
//
// A history has 40 batches of 50 units on two benches and a reference unit on each bench every
// second batch (tests/statistics/made_history.h).  In sigma of one unit, with sigma = 2.5 % of
// delivery: batches scatter by 0.25, a check by 0.16 (0.4 %), and what is planted is 0.4 (1 %).
// After every so many batches the question of the trend page is asked of the units up to there.

#include <algorithm>
#include <cmath>
#include <cstdlib>
#include <iostream>
#include <string>
#include <vector>

#include "analysis/statistics/product_or_bench.h"
#include "tests/statistics/made_history.h"

namespace {

using namespace endgate;
using Said = statistics::ProductOrBench::Said;

constexpr double kOnePercent = 0.4, kCheckU = 0.16, kBatchSd = 0.25;
constexpr std::size_t kUnits = 50, kBatches = 40, kLeastBatches = 6;

statistics::TestColumns up_to(const statistics::TestColumns& all, std::size_t rows) {
  statistics::TestColumns some;
  some.position.assign(all.position.begin(), all.position.begin() + static_cast<long>(rows));
  some.time_utc_ms.assign(all.time_utc_ms.begin(),
                          all.time_utc_ms.begin() + static_cast<long>(rows));
  some.value.assign(all.value.begin(), all.value.begin() + static_cast<long>(rows));
  some.u.assign(all.u.begin(), all.u.begin() + static_cast<long>(rows));
  for (std::size_t row = 0; row < rows; ++row) {
    some.batch.add(all.batch.levels[static_cast<std::size_t>(all.batch.of_row[row])]);
    some.bench.add(all.bench.levels[static_cast<std::size_t>(all.bench.of_row[row])]);
  }
  return some;
}

statistics::ProductOrBench asked_after(const test::MadeHistory& made, std::size_t batches) {
  std::vector<statistics::ReferenceCheck> checks;
  for (const statistics::ReferenceCheck& check : made.checks)
    if (check.batch < batches) checks.push_back(check);
  return statistics::product_or_bench(up_to(made.columns, batches * kUnits), checks);
}

struct Counts {
  std::vector<double> units_until;  // from the change to the first right statement
  int histories = 0, right_at_end = 0, wrong_at_end = 0, alarms = 0;
  double units_before = 0;  // asked about while nothing had moved
};

bool is_right(const statistics::ProductOrBench& answer, const test::Planted& planted) {
  if (planted.factor == "bench") return answer.said == Said::bench && answer.bench == "south";
  return planted.factor == "product" && answer.said == Said::product;
}

// An alarm is a statement that was not made at the question before.
void follow(const test::MadeHistory& made, std::size_t between, Counts& counts) {
  const bool clean = made.planted.factor.empty();
  const auto since = clean ? kBatches : static_cast<std::size_t>(made.since);
  bool found = false, stated = false;
  ++counts.histories;
  counts.units_before += static_cast<double>((since - kLeastBatches) * kUnits);
  for (std::size_t batches = kLeastBatches; batches <= kBatches; batches += between) {
    const statistics::ProductOrBench answer = asked_after(made, batches);
    const bool states = answer.said == Said::bench || answer.said == Said::product;
    if (batches <= since && states && !stated) ++counts.alarms;
    stated = states;
    const bool right = batches > since && is_right(answer, made.planted);
    if (right && !found)
      counts.units_until.push_back(static_cast<double>((batches - since) * kUnits));
    found |= right;
    if (batches + between <= kBatches) continue;
    counts.right_at_end += right;
    counts.wrong_at_end += states && !right;
  }
}

// A test of z = 3 that knows when it happened and where: how many units need it at least?  A shift
// of the product is seen over the scatter of units and batches, that of a bench in the difference
// of two benches, each with half of the units, and batches cancel.
double bound_units(bool bench) {
  constexpr double kZ = 3, kBefore = 20 * kUnits;  // the change comes in the middle
  const double unit = bench ? 4 : 1 + kBatchSd * kBatchSd * static_cast<double>(kUnits);
  const double room = kOnePercent * kOnePercent / (kZ * kZ) - unit / kBefore;
  return unit / room;
}

void tell(const std::string& what, const Counts& counts) {
  std::cout << what << ": " << counts.histories << " histories; false alarms per 10 000 units "
            << 1e4 * counts.alarms / counts.units_before;
  if (what != "nothing") {
    std::vector<double> units = counts.units_until;
    std::ranges::sort(units);
    const auto at = [&](double share) {
      return units[static_cast<std::size_t>(share * static_cast<double>(units.size() - 1))];
    };
    const int stated = counts.right_at_end + counts.wrong_at_end;
    std::cout << "; found in " << units.size();
    if (!units.empty())
      std::cout << " after " << at(0.5) << " [" << at(0.25) << " .. " << at(0.75) << "] units";
    std::cout << ", bound " << bound_units(what == "one bench") << "; at the end stated " << stated
              << ", right side " << counts.right_at_end << " (goal 95 %)";
  } else {
    std::cout << "; at the end stated " << counts.wrong_at_end;
  }
  std::cout << std::endl;
}

}  // namespace

int main(int argc, char** argv) {
  const int histories = argc > 1 ? std::atoi(argv[1]) : 100;
  const auto between = static_cast<std::size_t>(argc > 2 ? std::max(1, std::atoi(argv[2])) : 1);
  const std::pair<const char*, test::Planted> cases[] = {
      {"nothing", {}},
      {"one bench", {.factor = "bench", .level = "south", .shift = -kOnePercent}},
      {"the product", {.factor = "product", .shift = -kOnePercent}}};
  unsigned seed = 0;
  for (const auto& [what, planted] : cases) {
    Counts counts;
    seed += 100'000;
    for (int i = 0; i < histories; ++i) {
      test::HistoryMaker maker(seed + static_cast<unsigned>(i));
      follow(maker.make(planted, kCheckU), between, counts);
    }
    tell(what, counts);
  }
}
