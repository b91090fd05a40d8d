// Is a value beyond an over-limit, for long enough, and does an independent channel agree?
//
// Every value is judged when it is received (part.h), with its own time, and the newest of each
// channel again with the frame: a channel that is polled rarely stands where it stood.  A limit
// trips when its channel has stood beyond it for for_s of bench time.  A limit of some steps, or of a
// running motor, counts from the frame on in which that began: a streamed block brings samples from
// before, such as the starting current.  A missing value is neither
// beyond nor back inside: a channel at the end of its wire says both in turn.  The trip is confirmed
// when the channel itself is inside its sensor's range and a second healthy channel is beyond the
// bound the file names: only then may a trip that accuses the unit fail it.

#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include "analysis/raw_trace.h"
#include "daemon/bench/part.h"
#include "daemon/definitions/bench_definition.h"
#include "daemon/definitions/model_definition.h"
#include "daemon/frame.h"

namespace endgate::daemon {

class OverLimits {
 public:
  // Which limits count just now.
  struct When {
    bool running = false;   // the start is over and the motor should run
    std::string_view step;  // id of the step under way, and of the one beside it
    std::string_view beside;
    std::int64_t since_us = 0;  // bench time of the frame that made it so
  };

  OverLimits(const BenchDefinition& bench, const ModelDefinition& model);

  [[nodiscard]] std::optional<analysis::Trip> on_values(std::span<const ReceivedValue> values,
                                                        const When& when);
  [[nodiscard]] std::optional<analysis::Trip> on_frame(const Frame& frame, const When& when);
  // The second channel, when it agrees in this frame: it may have come after the value that tripped.
  [[nodiscard]] std::optional<std::string> witness(const analysis::Trip& trip,
                                                   const Frame& frame) const;

 private:
  using Values = std::array<std::optional<double>, analysis::kRoleCount>;
  struct Watched {
    OverLimit limit;
    std::size_t index = 0;  // of the channel
    analysis::ChannelFacts channel;
    std::optional<analysis::ChannelFacts> confirming;
    std::optional<std::size_t> confirming_index{};
    std::optional<std::int64_t> beyond_since_us{};
    bool judged = false;  // since the frame before: what the frame brings again
    bool streams = false;
    std::optional<std::int64_t> counts_from_us{};  // absent: it does not count just now
    std::optional<std::int64_t> newest_us{};       // of the last sample that a device said
    [[nodiscard]] bool is_from_before(std::int64_t time_us) const;
  };
  struct Value {
    double value_si = 0;
    std::int64_t time_us = 0;
  };
  // `value` absent: the channel has none just now.
  [[nodiscard]] std::optional<analysis::Trip> judge(Watched& watched,
                                                    const std::optional<Value>& value,
                                                    const When& when) const;
  void note_which_count(const When& when);
  void note(std::span<const ReceivedValue> values);
  [[nodiscard]] analysis::Trip trip_of(const Watched& watched, const Value& value) const;

  std::vector<Watched> watched_;
  Values newest_{};  // by role
};

}  // namespace endgate::daemon
