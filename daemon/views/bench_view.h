// A bench, its calibrations and its alarms in the words of their pages.

#pragma once

#include <string>
#include <vector>

#include "daemon/definitions/recalibrate.h"
#include "daemon/line/bench_texts.h"
#include "daemon/line/upkeep_policy.h"
#include "daemon/queries/bench_checks.h"
#include "daemon/views/shown.h"
#include "reports/alarms_page.h"
#include "reports/bench_page.h"
#include "reports/calibrate_page.h"

namespace endgate::daemon {

struct BenchSeen {
  const BenchTexts& texts;
  const BenchKept& kept;
  const std::vector<UpkeepNotice>& notices;
  const std::vector<schema::Definition>& calibrations;  // oldest first
  const BenchLive& live;
  std::string trouble{};  // why no test can begin just now, whatever is due; empty: nothing
};
[[nodiscard]] reports::BenchPage bench_page_of(const BenchSeen& seen);
// For the list of benches: what is due or open, the last reference test, validity.  Of `kept` the
// newest checks will do.
[[nodiscard]] std::vector<std::string> lines_of_bench(const BenchSeen& seen);

// "12.3 kPa gauge", or that there are no data.
[[nodiscard]] std::string reading_now(const BenchLive& live, analysis::Role role);

// The channels to choose from, the chosen one and what it reads; without points.
[[nodiscard]] reports::CalibratePage calibrate_page_of(const BenchTexts& texts,
                                                       const std::string& channel,
                                                       const BenchLive& live);
// Line, residuals, in force and new.
void show_fit(reports::CalibratePage& page, const Recalibration& made, const ChannelWords& words);

[[nodiscard]] std::vector<reports::AlarmRow> alarm_rows(
    const std::vector<KeptAlarm>& open, const std::vector<std::int64_t>& since_utc_ms);

}  // namespace endgate::daemon
