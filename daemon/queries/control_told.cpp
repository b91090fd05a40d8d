#include "daemon/queries/control_told.h"

#include <algorithm>
#include <cmath>

#include "analysis/statistics/neighbour_limits.h"

namespace endgate::daemon {
namespace {

using statistics::ControlRule;
using statistics::ControlRules;

struct Judge {
  std::span<const BatchPoint> batches;
  ControlTold& told;
  std::size_t begin = 0;  // of the version that judges
  ControlRules before{};  // broken by the batch before

  // Where began what the rule shows?
  [[nodiscard]] std::size_t since(ControlRule rule, std::size_t at, bool above) const {
    const double sign = above ? 1 : -1;
    const auto back_while = [&](auto holds) {
      std::size_t first = at;  // tests without a batch in between are not judged
      for (std::size_t i = at; i > begin; --i) {
        if (!told.batches[i - 1].judged) continue;
        if (!holds(i - 1)) break;
        first = i - 1;
      }
      return first;
    };
    switch (rule) {
      case ControlRule::outside:
        return at;
      case ControlRule::two_of_three:
        for (const std::size_t i : two_judged_before(at))
          if (sign * told.batches[i].z > statistics::kNearLimit) return i;
        return at;
      case ControlRule::one_side:
        return back_while([&](std::size_t i) { return sign * told.batches[i].z > 0; });
      case ControlRule::running_mean:
        return back_while([&](std::size_t i) {
          return sign * (told.batches[i].running - told.batches[i].centre) > 0;
        });
      case ControlRule::running_sum:
        return back_while(
            [&](std::size_t i) { return (above ? told.batches[i].up : told.batches[i].down) > 0; });
    }
    return at;
  }

  // Or fewer, the oldest first.
  [[nodiscard]] std::vector<std::size_t> two_judged_before(std::size_t at) const {
    std::vector<std::size_t> found;
    for (std::size_t i = at; i > begin && found.size() < 2; --i)
      if (told.batches[i - 1].judged) found.insert(found.begin(), i - 1);
    return found;
  }

  [[nodiscard]] bool is_above(ControlRule rule, std::size_t at) const {
    const JudgedBatch& batch = told.batches[at];
    if (rule == ControlRule::running_mean) return batch.running > batch.centre;
    if (rule == ControlRule::running_sum) return batch.up > batch.down;
    return batch.z > 0;
  }

  // Judges one batch that has its centre and sigma.
  void step(statistics::RuleWatch& watch, std::size_t at) {
    JudgedBatch& batch = told.batches[at];
    batch.judged = true;
    batch.z = (batches[at].mean - batch.centre) / batch.sigma;
    const ControlRules broken = watch.step(batch.z);
    batch.running = batch.centre + batch.sigma * watch.running_mean();
    batch.running_half_width = batch.sigma * watch.running_half_width();
    batch.up = watch.up(), batch.down = watch.down();
    for (const ControlRule rule : broken.list())
      if (!before.has(rule)) {
        const bool above = is_above(rule, at);
        told.signals.push_back({at, since(rule, at, above), rule, above});
      }
    before = broken;
  }
  void begin_at(std::size_t at) {
    begin = at;
    before = {};
  }
};

std::optional<std::size_t> version_before(const std::vector<ControlVersion>& versions,
                                          schema::Position first_test) {
  for (std::size_t i = versions.size(); i-- > 0;)
    if (versions[i].behind_position < first_test) return i;
  return std::nullopt;
}

bool is_made_from(const ControlVersion& version, const BatchPoint& batch) {
  return batch.first_position >= version.first_position &&
         batch.first_position <= version.last_position;
}

void judge_frozen(std::span<const BatchPoint> batches, ControlTold& told) {
  told.batches.resize(batches.size());
  Judge judge{batches, told};
  std::optional<std::size_t> in_force;
  statistics::RuleWatch watch{ControlRules{}};
  for (std::size_t at = 0; at < batches.size(); ++at) {
    const BatchPoint& point = batches[at];
    if (point.batch == kNoBatch) continue;
    const auto version = version_before(told.versions, point.first_position);
    const std::size_t shown = version.value_or(0);
    JudgedBatch& batch = told.batches[at];
    batch.has_limits = version || is_made_from(told.versions.front(), point);
    if (!batch.has_limits) continue;
    batch.version = shown;
    batch.centre = told.versions[shown].limits.centre;
    batch.sigma = told.versions[shown].limits.sigma_of_mean(point.n);
    if (!version) continue;
    if (version != in_force) {
      watch = statistics::RuleWatch(told.versions[shown].rules);
      judge.begin_at(at);
      in_force = version;
    }
    judge.step(watch, at);
  }
  const ControlVersion& newest = told.versions.back();
  told.rules = newest.rules;
  told.run_length = newest.run_length;
  told.likeness = newest.limits.likeness;
  told.made_from = newest.limits.batches;
}

// Differences of neighbours that resemble each other make sigma too small by sqrt(1 - likeness).
statistics::PromisedRunLength run_length_of_shown(const ControlTold& told, std::size_t batches) {
  if (batches < statistics::kFewestControlBatches) return {};
  const double length = statistics::run_length_together(
      {.rules = told.rules, .likeness = told.likeness, .scale = 1 / std::sqrt(1 - told.likeness)});
  return {length, length, length};
}

void judge_by_what_is_shown(std::span<const BatchPoint> batches, ControlTold& told) {
  told.batches.resize(batches.size());
  Judge judge{batches, told};
  std::vector<statistics::BatchMoments> moments;
  for (const BatchPoint& point : batches) moments.push_back({point.n, point.mean, point.sigma});
  const auto limits = statistics::neighbour_limits(moments);
  if (!limits) return;
  std::vector<double> distances;
  statistics::RuleWatch watch(told.rules);
  for (std::size_t at = 0; at < batches.size(); ++at) {
    told.batches[at] = {.has_limits = true,
                        .centre = limits->centre,
                        .sigma = limits->sigma_of_mean(batches[at].n)};
    judge.step(watch, at);
    distances.push_back(told.batches[at].z);
  }
  told.likeness = statistics::likeness_of_neighbours(distances);
  told.run_length = run_length_of_shown(told, batches.size());
}

}  // namespace

bool ControlTold::is_outside(std::size_t batch) const {
  const JudgedBatch& judged = batches[batch];
  const ControlRules& by = frozen() ? versions[judged.version].rules : rules;
  return judged.judged && by.has(ControlRule::outside) && std::abs(judged.z) > statistics::kOutside;
}

bool ControlTold::judges() const { return std::ranges::any_of(batches, &JudgedBatch::judged); }

std::vector<std::size_t> ControlTold::signals_of(ControlRule rule) const {
  std::vector<std::size_t> at;
  for (const ControlSignal& signal : signals)
    if (signal.rule == rule) at.push_back(signal.batch);
  return at;
}

ControlTold control_told(std::span<const BatchPoint> batches,
                         std::vector<ControlVersion> versions) {
  ControlTold told{.versions = std::move(versions)};
  if (told.frozen())
    judge_frozen(batches, told);
  else
    judge_by_what_is_shown(batches, told);
  return told;
}

}  // namespace endgate::daemon
