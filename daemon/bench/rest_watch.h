// Does a reading still die away?
//
// Samples are taken in stretches of kRestStretch_s.  A stretch is at rest when the drift over it
// (daemon/bench/drift.h) is within kRestDrift of its own u or one count of the channel; the newest
// whole stretch counts.  A channel that is not there, or brings no value, has nothing to die away:
// what is missing is judged by the evaluation.

#pragma once

#include "daemon/bench/drift.h"
#include "daemon/definitions/bench_definition.h"
#include "daemon/frame.h"

namespace endgate::daemon {

inline constexpr double kRestStretch_s = 0.5;
inline constexpr double kRestDrift = 4;

class RestWatch {
 public:
  RestWatch(const BenchDefinition& bench, analysis::Role role);

  void look(const BenchDefinition& bench, const Frame& frame);
  [[nodiscard]] bool at_rest() const { return at_rest_; }

 private:
  [[nodiscard]] bool rests(const Drift& drift) const;

  analysis::Role role_;
  const analysis::ChannelFacts* facts_ = nullptr;  // null: the bench has no such channel
  DriftWindow stretch_;
  bool at_rest_ = true;
};

}  // namespace endgate::daemon
