// How much of what kept tests of a few units show is the measurement and not the units?
//
// A study is what was asked for: every unit on every bench (or by every person) the same number of
// times, clamped anew.  Void tests and tests without the metric do not count.  A repaired unit is
// another one: where a repair lies between its tests, only those behind the last count.  What is
// unbalanced is refused and said cell by cell; `first_repeats` takes only the first tests of each unit on each
// bench, and leaves out units that have fewer, each named.
//
// Beside it each pair of benches over the units that were on both, and one kept unit against its
// known value.  SI.

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "analysis/metric_facts.h"
#include "analysis/statistics/gauge_study.h"
#include "analysis/statistics/paired_difference.h"
#include "daemon/queries/trend_columns.h"

namespace endgate::daemon {

struct StudyAsked {
  enum class By { bench, person };
  By by = By::bench;
  std::vector<std::string> serials{};          // empty: every unit that matches
  std::optional<std::size_t> first_repeats{};  // nothing: all
};

struct StudyTest {
  schema::Position position = 0;
  std::string serial{}, bench{}, person{}, calibration{};
  std::int64_t started_utc_ms = 0;
  double value = 0;  // SI
};

struct StudyTests {
  std::vector<StudyTest> tests{};        // in order of position
  std::size_t without_value = 0;         // void, or the metric missing
  std::size_t before_repair = 0;         // left out: the unit was repaired before its last of these
  std::vector<std::string> not_found{};  // serials asked for without a test
};
[[nodiscard]] StudyTests study_tests(const schema::StoreReader& store, const TrendFilter& filter,
                                     const std::string& metric, const StudyAsked& asked);

struct BenchPair {
  std::string first{}, second{};
  std::optional<statistics::PairedDifference> difference{};  // second less first
  std::string none{};                                        // why there is none
};

struct GaugeTold {
  const analysis::MetricFacts* metric = nullptr;
  std::string model{};
  StudyAsked asked{};
  StudyTests found{};
  std::size_t nameless = 0;                          // tests of a study by person that name nobody
  std::vector<std::string> units{}, places{};        // places: benches or people
  std::vector<statistics::StudyReading> readings{};  // of the study; index into these two
  std::vector<std::string> left_out{};               // units with fewer than `first_repeats`
  std::optional<statistics::GaugeStudy> study{};
  std::string no_study{};                      // why there is none
  std::vector<std::string> mixed{};            // what differed inside the study besides
  std::optional<double> limit_width{};         // both bounds on the metric are known
  std::optional<double> allowed_difference{};  // between benches: 0.3 of the guard band
  std::vector<BenchPair> pairs{};
};
[[nodiscard]] GaugeTold gauge_of(const schema::StoreReader& store, const TrendFilter& filter,
                                 const std::string& metric, const StudyAsked& asked);

inline constexpr double kAllowedOfGuardBand = 0.3;
inline constexpr int kEnoughOfOneUnit = 25;  // tests of one unit; common practice

struct OneUnitAsked {
  statistics::KnownValue known{};       // SI
  std::optional<double> limit_width{};  // SI; nothing: that of the limits in force, if both are
};
struct OneUnitTold {
  const analysis::MetricFacts* metric = nullptr;
  std::string model{};
  OneUnitAsked asked{};
  StudyTests found{};
  std::vector<std::string> benches{};
  std::optional<double> limit_width{};
  std::optional<statistics::TypeOneStudy> study{};
  std::string no_study{};
};
// `asked_tests` names one serial.
[[nodiscard]] OneUnitTold one_unit_of(const schema::StoreReader& store, const TrendFilter& filter,
                                      const std::string& metric, const StudyAsked& asked_tests,
                                      const OneUnitAsked& asked);

}  // namespace endgate::daemon
