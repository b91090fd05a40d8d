// Is a value beyond an over-limit, for long enough, and does an independent channel agree?
//
// A limit trips when its channel has stood beyond it for for_s of bench time.  A missing value is
// neither beyond nor back inside: a channel at the end of its wire says both in turn.  The trip is
// confirmed when the channel itself is inside its sensor's range and a second healthy channel is
// beyond the bound the file names: only then may a trip that accuses the unit fail it.

#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "analysis/raw_trace.h"
#include "daemon/definitions/bench_definition.h"
#include "daemon/definitions/model_definition.h"
#include "daemon/frame.h"

namespace endgate::daemon {

class OverLimits {
 public:
  OverLimits(const BenchDefinition& bench, const ModelDefinition& model);

  // `running`: the start is over and the motor should run.
  [[nodiscard]] std::optional<analysis::Trip> on_frame(const Frame& frame, bool running);

 private:
  struct Watched {
    OverLimit limit;
    analysis::ChannelFacts channel;
    std::optional<analysis::ChannelFacts> confirming;
    std::optional<std::int64_t> beyond_since_us;
  };
  // Nothing: the channel has no value just now.
  [[nodiscard]] static std::optional<bool> is_beyond(const Watched& watched, const Frame& frame,
                                                     bool running);
  [[nodiscard]] static bool is_confirmed(const Watched& watched, const Frame& frame);
  [[nodiscard]] static analysis::Trip trip_of(const Watched& watched, const Frame& frame);

  std::vector<Watched> watched_;
};

}  // namespace endgate::daemon
