#include "daemon/bench/rest_watch.h"

#include <algorithm>
#include <cmath>

#include "daemon/bench/step.h"

namespace endgate::daemon {
namespace {

const analysis::ChannelFacts* facts_with(const BenchDefinition& bench, analysis::Role role) {
  const auto found =
      std::find_if(bench.channels.begin(), bench.channels.end(),
                   [&](const ChannelDefinition& one) { return one.facts.role == role; });
  return found == bench.channels.end() ? nullptr : &found->facts;
}

}  // namespace

RestWatch::RestWatch(const BenchDefinition& bench, analysis::Role role)
    : role_(role), facts_(facts_with(bench, role)), stretch_(facts_) {}

void RestWatch::look(const BenchDefinition& bench, const Frame& frame) {
  const auto value = frame.value(role_);
  if (!value || !is_fresh(bench, frame, role_)) return;
  stretch_.add(frame.bench_time_us, *value);
  if (stretch_.length_s() < kRestStretch_s) return;
  const auto drift = stretch_.drift(stretch_.length_s());
  if (!drift) return;  // too few samples yet
  at_rest_ = rests(*drift);
  stretch_ = DriftWindow(facts_);
}

bool RestWatch::rests(const Drift& drift) const {
  return std::abs(drift.over_window) <= std::max(kRestDrift * drift.u, std::abs(facts_->scale));
}

}  // namespace endgate::daemon
