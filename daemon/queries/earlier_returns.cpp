#include "daemon/queries/earlier_returns.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include "analysis/say_number.h"
#include "schema/every_entry.h"

namespace endgate::daemon {
namespace {

constexpr double kLow = 0.1, kMiddle = 0.5, kHigh = 0.9;
constexpr double kTimes = 2;  // how much older or younger counts as that age

using Intake = schema::Kept<schema::ReturnIntake>;

const Intake* intake_before(const std::vector<Intake>& returns, schema::Position test) {
  const Intake* found = nullptr;
  for (const Intake& intake : returns)
    if (intake.position < test) found = &intake;
  return found;
}

const schema::StoredRecord* first_test_after(const UnitHistory& unit, schema::Position intake) {
  const auto found = std::ranges::find_if(unit.tests, [&](const schema::StoredRecord& test) {
    return test.position > intake && test.record.verdict != "void" &&
           test.record.start.purpose == "returned";
  });
  return found == unit.tests.end() ? nullptr : &*found;
}

// Between neighbours in a straight line, placed so that a further unit of the same kind lies below
// with that chance, however few there are; `sorted` is not empty.  With kFewestOfAnAge the 10th and
// the 90th are the least and the greatest.
double percentile(const std::vector<double>& sorted, double share) {
  const auto n = static_cast<double>(sorted.size());
  const double place = std::clamp(share * (n + 1) - 1, 0.0, n - 1);
  const auto below = static_cast<std::size_t>(place);
  const std::size_t above = std::min(below + 1, sorted.size() - 1);
  return sorted[below] + (place - std::floor(place)) * (sorted[above] - sorted[below]);
}

class Gathering {
 public:
  Gathering(const schema::StoreReader& store, const UnitHistory& unit,
            const schema::StoredRecord& later)
      : store_(store), seen_{unit.serial}, later_(later) {}

  // One return of another unit; it counts once, by its first.
  void add(const Intake& intake) {
    if (!seen_.insert(intake.fact.serial).second) return;
    UnitHistory unit;
    unit.serial = intake.fact.serial;
    unit.tests = store_.records_of(unit.serial);
    const schema::StoredRecord* test = first_test_after(unit, intake.position);
    if (test == nullptr || test->position >= later_.position ||
        test->record.start.model != later_.record.start.model)
      return;
    if (is_repaired_between(intake.position, test->position, unit.serial)) return;
    const auto against = against_birth(unit, *test);
    if (!against) return;
    ++units_;
    for (const analysis::Difference& one : against->differences)
      changes_[one.metric].push_back(one.change);
  }

  EarlierReturns told(double months) {
    EarlierReturns earlier{.months = months, .units = units_};
    for (auto& [metric, changes] : changes_) {
      std::ranges::sort(changes);
      earlier.bands.push_back({.metric = metric,
                               .units = changes.size(),
                               .low = percentile(changes, kLow),
                               .middle = percentile(changes, kMiddle),
                               .high = percentile(changes, kHigh)});
    }
    return earlier;
  }

 private:
  [[nodiscard]] bool is_repaired_between(schema::Position intake, schema::Position test,
                                         const std::string& serial) const {
    return std::ranges::any_of(store_.repair_positions_of(serial), [&](schema::Position repair) {
      return repair > intake && repair < test;
    });
  }

  const schema::StoreReader& store_;
  std::set<std::string> seen_;
  const schema::StoredRecord& later_;
  std::size_t units_ = 0;
  std::map<std::string, std::vector<double>> changes_{};
};

}  // namespace

std::optional<EarlierReturns> earlier_returns(const schema::StoreReader& store,
                                              const UnitHistory& unit,
                                              const schema::StoredRecord& later) {
  const Intake* own = intake_before(unit.returns, later.position);
  if (own == nullptr || !own->fact.months_in_use) return std::nullopt;
  if (std::ranges::any_of(unit.repairs, [&](const schema::Kept<schema::Repair>& repair) {
        return repair.position > own->position && repair.position < later.position;
      }))
    return std::nullopt;
  const double months = *own->fact.months_in_use;
  std::vector<Intake> returns = schema::every_return(store);
  std::erase_if(returns, [&](const Intake& intake) {
    const auto& other = intake.fact.months_in_use;
    return intake.position >= later.position || !other || *other < months / kTimes ||
           *other > months * kTimes;
  });
  Gathering gathering(store, unit, later);
  const std::size_t first = returns.size() - std::min(returns.size(), kReturnsLookedAt);
  for (std::size_t i = first; i < returns.size(); ++i) gathering.add(returns[i]);
  return gathering.told(months);
}

std::optional<BirthCompared> compared_with_birth(const schema::StoreReader& store,
                                                 const UnitHistory& unit) {
  if (unit.tests.empty()) return std::nullopt;
  const schema::StoredRecord& newest = unit.tests.back();
  auto against = against_birth(store, unit, newest);
  if (!against) return std::nullopt;
  return BirthCompared{newest.record.start.attempt, std::move(*against),
                       earlier_returns(store, unit, newest)};
}

std::string words_of(const EarlierReturns& earlier) {
  const std::string ages =
      " of this model came back after " + analysis::say_number(earlier.months / kTimes, 1) +
      " to " + analysis::say_number(earlier.months * kTimes, 1) + " months and were tested before";
  const std::string units = earlier.units == 0   ? "No unit"
                            : earlier.units == 1 ? "1 unit"
                                                 : std::to_string(earlier.units) + " units";
  if (earlier.units < kFewestOfAnAge)
    return units + ages + ", too few to say what returns of that age show; " +
           std::to_string(kFewestOfAnAge) + " are needed.";
  return units + ages +
         ". Their changes are as measured: what the benches read differently is not taken out of them.";
}

const EarlierReturns::Band* band_of(const EarlierReturns& earlier, const std::string& metric) {
  const auto found = std::ranges::find(earlier.bands, metric, &EarlierReturns::Band::metric);
  return found == earlier.bands.end() ? nullptr : &*found;
}

}  // namespace endgate::daemon
