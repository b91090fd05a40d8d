#include "daemon/bench/end_watch.h"

#include "daemon/bench/end_words.h"

namespace endgate::daemon {
namespace {

bool is_beyond(const EndCondition& end, double value) {
  return end.upper ? value > end.limit_si : value < end.limit_si;
}

}  // namespace

EndWatch::EndWatch(const std::vector<EndCondition>& ends) {
  for (const EndCondition& end : ends) watched_.push_back({end, std::nullopt});
}

// A condition that ends the trial is not hidden by one that ends the step.
std::optional<EndReached> EndWatch::on_frame(const Frame& frame, std::size_t step) {
  std::optional<EndReached> reached;
  Watched* which = nullptr;
  for (Watched& each : watched_) {
    const auto value = frame.value(each.end.role);
    const bool watched = !each.end.step || *each.end.step == step;
    if (watched && !value) continue;
    if (!watched || !is_beyond(each.end, *value)) {
      each.beyond_since_us.reset();
      continue;
    }
    if (!each.beyond_since_us) each.beyond_since_us = frame.bench_time_us;
    const double for_s = 1e-6 * static_cast<double>(frame.bench_time_us - *each.beyond_since_us);
    if (for_s < each.end.for_s || (reached && !each.end.ends_trial)) continue;
    if (reached && reached->ends_trial) continue;
    reached = EndReached{each.end.ends_trial, end_words(each.end, *value)};
    which = &each;
  }
  if (which != nullptr) which->beyond_since_us.reset();
  return reached;
}

}  // namespace endgate::daemon
