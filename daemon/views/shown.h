// How do SI values of metrics, limits and channels become words and numbers for a person?

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "analysis/evaluation.h"
#include "daemon/bench/bench.h"
#include "reports/line_view.h"
#include "reports/number.h"
#include "reports/ruler.h"
#include "schema/facts.h"

namespace endgate::daemon {

inline constexpr double kCoverage = 2;  // U = 2 u

// One point of a band of the curve, SI.
struct HeldPoint {
  double gauge_pa = 0;
  std::optional<double> lower{}, upper{};
};

// One limit with the value that was held against it, SI.
struct HeldLimit {
  std::string metric{};
  std::string outcome{};  // pass, fail, undecided
  bool warn = false;
  std::optional<double> lower{}, upper{};
  double pass_band = 0, fail_band = 0;
  std::optional<double> value{}, u{};
  std::string missing_reason{};
  std::optional<double> gauge_pa{};  // of a band of the curve: its worst point, shown for it
  std::vector<HeldPoint> band{};
};

[[nodiscard]] std::vector<HeldLimit> held_limits(const std::vector<analysis::LimitOutcome>& limits,
                                                 const std::vector<analysis::Metric>& metrics);
[[nodiscard]] std::vector<HeldLimit> held_limits(const schema::Record& record);

[[nodiscard]] std::string metric_name(const std::string& id);        // the id when not known
[[nodiscard]] std::string limit_name(const HeldLimit& limit);        // with its worst pressure
[[nodiscard]] std::string metric_name_brief(const std::string& id);  // "Delivery, 400 kPa"
[[nodiscard]] std::string metric_name_short(const std::string& id);  // "Flow at 400 kPa"
[[nodiscard]] std::string metric_unit(const std::string& id);
[[nodiscard]] double shown_value(const std::string& metric, double si);
[[nodiscard]] double shown_size(const std::string& metric, double si);  // of a difference

[[nodiscard]] reports::WrittenReading written_value(const HeldLimit& limit);
[[nodiscard]] std::string limit_words(const HeldLimit& limit);  // "at least 44.0"
[[nodiscard]] std::string binding_words(HeldLimit limit);       // only the bound that is nearer
[[nodiscard]] reports::Ruler ruler_of(const HeldLimit& limit, double width);
[[nodiscard]] reports::LimitRow limit_row(const HeldLimit& limit, double ruler_width = 190);

// To the nearer bound, SI, above 0 inside; absent without value or bound.
struct Margin {
  double size = 0;
  bool to_lower = true;
};
[[nodiscard]] std::optional<Margin> margin_of(const HeldLimit& limit);

// "fad_400" -> 400 kPa gauge.
[[nodiscard]] std::optional<double> fad_pressure_kpa(const std::string& metric);

struct ChannelWords {
  const char* name;
  const char* unit;
  double factor, offset;
};
[[nodiscard]] ChannelWords words_of(analysis::Role role);
// A lab trial is about the temperature of the case: it takes the place of the voltage.
[[nodiscard]] std::vector<reports::LiveCell> live_cells(const BenchLive& live, bool trial = false);

// A text as one part of an address: everything but letters, digits, '-', '.', '_' is encoded.
[[nodiscard]] std::string address_part(const std::string& text);

// "2026-11-25 10:42", plant time of this machine.
[[nodiscard]] std::string date_and_minute(std::int64_t utc_ms);

}  // namespace endgate::daemon
