// What of one test do questions about many tests read?
//
// The same few things, whether they come from a decoded record or out of the packed columns of
// trend.db: so both ways give the same answer, bit for bit.  Names point into what they came from
// and live as long as the visit.

#pragma once

#include <functional>
#include <optional>
#include <string>
#include <string_view>

#include "schema/store.h"

namespace endgate::schema {

struct TrendTest {
  Position position = 0;
  std::int64_t started_utc_ms = 0, attempt = 0;
  std::string_view serial{}, model{}, bench{}, batch{}, purpose{}, verdict{};
  std::string_view operator_name{}, software{};
  std::string_view calibration{}, limits{};          // versions, "north@2"; empty: none
  std::string_view reason_code{}, reason_subject{};  // the deciding one
  bool stopped_by_person = false, would_have_failed = false;
};

struct TrendBounds {
  std::optional<double> lower{}, upper{};
  bool operator==(const TrendBounds&) const = default;
};

// A limit that judges, as it was held against the metric; warnings do not count.
struct TrendLimit {
  TrendBounds bounds{};
  double pass_band = 0, fail_band = 0;
  std::string_view outcome{};    // of this limit
  std::string_view elsewhere{};  // the worst of the limits on other metrics: fail, undecided, pass
  TrendBounds last_bounds{};     // of the last limit on the metric; nearly always the same
};

struct TrendMetric {
  std::optional<double> value{}, u{};
  std::optional<double> random_u{};   // of tests of reference units only
  std::optional<TrendLimit> limit{};  // the first on the metric
};

using VisitTest = std::function<void(const TrendTest&, const TrendMetric&)>;

[[nodiscard]] TrendTest trend_test_of(const StoredRecord& stored);
[[nodiscard]] TrendMetric trend_metric_of(const Record& record, std::string_view metric);

}  // namespace endgate::schema
