// One channel of a stored trace as it is shown: calibrated, decimated, with steps and used
// stretches.

#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "reports/unit_page.h"
#include "schema/store.h"

namespace endgate::daemon {

struct TraceShown {
  std::string missing{};  // why there is none; empty when there is one
  std::string channel{};
  std::string si_unit{};
  struct Channel {
    std::string id{}, name{};
  };
  std::vector<Channel> channels{};
  struct Piece {
    double time_s = 0;
    std::optional<double> lowest_si{}, highest_si{};  // absent: no good sample in this piece
  };
  std::vector<Piece> pieces{};
  struct Step {
    std::string name{};
    double start_s = 0;
  };
  std::vector<Step> steps{};
  std::size_t samples = 0;        // good ones of this channel
  std::int64_t origin_us = 0;     // bench time that is 0 s here
  double factor = 1, offset = 0;  // SI to the display unit
  std::string quantity{};         // "Outlet pressure, kPa gauge"
};

// `channel` empty: the discharge pressure.  Reads the trace; call on the pool.
[[nodiscard]] TraceShown trace_shown(const schema::StoreReader& store,
                                     const schema::StoredRecord& test, const std::string& channel,
                                     std::size_t points);

void add_trace(reports::UnitPage& page, const schema::StoredRecord& test, const TraceShown& trace);

}  // namespace endgate::daemon
