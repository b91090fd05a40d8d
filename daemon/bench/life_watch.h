// Is the service that holds this bench at work?
//
// Pure; fed with every frame while another one holds the bench.  It is at work while its lease is
// live, its motor relay is closed or current flows.  What the bench file names and a frame does not
// say is no quiet: the watch begins anew, as it does after a gap.
//
//   untold   the bench names no such input, or has not said one of them within kMostGap
//   alive    a sign of life within kNoSignOfLife of the newest frame, or not watched for so long yet
//   quiet    neither: watched for kNoSignOfLife at a stretch

#pragma once

#include <array>
#include <chrono>
#include <optional>

#include "daemon/definitions/bench_definition.h"
#include "daemon/frame.h"

namespace endgate::daemon {

class LifeWatch {
 public:
  using Steady = std::chrono::steady_clock::time_point;
  static constexpr std::chrono::seconds kNoSignOfLife{3};
  static constexpr std::chrono::milliseconds kMostGap{1500};  // the slowest bench misses no round

  enum class Seen { untold, alive, quiet };

  explicit LifeWatch(const BenchDefinition& bench)
      : inputs_(bench.interlocks), flows_a_(bench.motor_current_flows_a) {}

  void forget();  // nobody holds it, or contact was lost
  void on_frame(const Frame& frame);
  [[nodiscard]] Seen seen(Steady now) const;

 private:
  [[nodiscard]] bool all_heard(Steady now) const;
  [[nodiscard]] bool lives(const Frame& frame) const;

  InterlockDefinition inputs_;
  double flows_a_ = 0;
  std::array<std::optional<Steady>, 2> heard_{};  // lease, relay: last said, whatever it was
  std::optional<Steady> quiet_since_, newest_;
};

}  // namespace endgate::daemon
