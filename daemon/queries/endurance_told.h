// How does a metric of one unit move as it runs, and when does it reach its limits?
//
// Stop and measure: every test of the unit that is not void and has the metric is a point, over the
// hours the unit spent on benches before that test (cycle times of all its tests, trials of hours
// and void ones included, rests too), or over days since the first.  Only what came after its last
// repair belongs together.  Running elsewhere is not known here: then ask over days.
//
// Limits are those in force.  SI; times in seconds.

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "analysis/metric_facts.h"
#include "analysis/statistics/degradation.h"
#include "schema/store.h"

namespace endgate::daemon {

struct EndurancePoint {
  std::int64_t attempt = 0, started_utc_ms = 0;
  std::string bench{}, purpose{};
  double time_s = 0, value = 0;
  std::optional<double> u{};
};

struct LimitReached {
  bool lower = true;
  double at = 0;     // SI
  bool now = false;  // the line is beyond it at the last test
  statistics::TimeToLimit time{};
};

struct EnduranceTold {
  const analysis::MetricFacts* metric = nullptr;
  std::string serial{}, model{};
  bool over_days = false;
  std::vector<EndurancePoint> points{};
  std::size_t before_repair = 0;  // tests left out
  std::size_t no_time = 0;        // tests whose duration is not known
  std::optional<statistics::Degradation> path{};
  std::string no_path{};
  std::vector<LimitReached> limits{};            // none without a path
  std::optional<double> lower_si{}, upper_si{};  // in force, with or without a path
};
[[nodiscard]] EnduranceTold endurance_of(const schema::StoreReader& store,
                                         const std::string& serial, const std::string& metric,
                                         bool over_days);

// In words of our own, one statement a line; the first is the most important.
[[nodiscard]] std::vector<std::string> words_of(const EnduranceTold& told);
inline constexpr double kHour_s = 3600, kDay_s = 86400;

}  // namespace endgate::daemon
