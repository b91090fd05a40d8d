// Does the bench still say what its safety inputs are?
//
// Pure; fed with every frame.  An input that the bench file names and that has no value for longer
// than kSilentAfter is silent: no test starts on it, and a running one is broken off.  What is not
// heard never counts as safe.

#pragma once

#include <array>
#include <chrono>
#include <optional>

#include "daemon/definitions/bench_definition.h"
#include "daemon/frame.h"

namespace endgate::daemon {

class StatusWatch {
 public:
  using Steady = std::chrono::steady_clock::time_point;
  static constexpr std::chrono::milliseconds kSilentAfter{
      2500};  // two missed rounds of the slowest bench

  explicit StatusWatch(const BenchDefinition& bench) : inputs_(bench.interlocks) {}

  void forget();  // the links were down: nothing heard before counts
  void on_frame(const Frame& frame);
  // What the first silent input would say: "whether the cover is closed".
  [[nodiscard]] std::optional<const char*> silent(Steady now) const;

 private:
  InterlockDefinition inputs_;
  std::array<std::optional<Steady>, 4> heard_{};  // in the order of kWatched
};

}  // namespace endgate::daemon
