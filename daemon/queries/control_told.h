// Which batch breaks which rule of its control chart, judged by the limits of its time?
//
// With frozen limits: a batch is judged by the newest version that was made before its first test.
// The batches that the first version was made from show its limits and are not judged by them;
// older ones have none.  The memory of the rules begins anew with each version.  Tests without a
// batch are never judged. Without: by limits from all the means shown
// (statistics::neighbour_limits), which move when the question does; every batch is judged, or none
// when they are too few.
// Units: SI; the running sum in standard deviations of a mean.

#pragma once

#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "analysis/statistics/control_limits.h"
#include "daemon/queries/batch_points.h"
#include "schema/facts.h"

namespace endgate::daemon {

// One accepted text of kind "control".
struct ControlVersion {
  std::int64_t version = 0, at_utc_ms = 0;
  std::string by{}, why{};
  statistics::ControlLimits limits{};
  statistics::ControlRules rules{};
  statistics::PromisedRunLength run_length{};
  std::string first_batch{}, last_batch{};
  std::int64_t tests = 0;
  schema::Position first_position = 0, last_position = 0;  // of the tests it was made from
  schema::Position behind_position = 0;                    // judges from there on
};

struct JudgedBatch {
  bool has_limits = false, judged = false;
  std::size_t version = 0;       // index in ControlTold::versions, when frozen and has_limits
  double centre = 0, sigma = 0;  // of a mean of so many units
  double z = 0;                  // distance in sigma, when judged
  double running = 0, running_half_width = 0;  // when judged
  double up = 0, down = 0;
};

struct ControlSignal {
  std::size_t batch = 0, since = 0;  // since: where what it shows began
  statistics::ControlRule rule{};
  bool above = false;
};

struct ControlTold {
  std::vector<ControlVersion> versions{};                    // empty: limits of what is shown
  std::vector<JudgedBatch> batches{};                        // one each of what was asked
  std::vector<ControlSignal> signals{};                      // the first batch of each, in order
  statistics::ControlRules rules = statistics::kUsualRules;  // in force now
  // Batches, of these rules together; not told by limits of fewer than kFewestControlBatches shown.
  statistics::PromisedRunLength run_length{};
  double likeness = 0;   // of neighbouring means, which the run length allows for
  double made_from = 0;  // batches behind the limits in force; 0: those shown

  [[nodiscard]] bool frozen() const { return !versions.empty(); }
  [[nodiscard]] bool judges() const;  // at least one batch
  // The rule is in force and the batch breaks it; every batch of a run, not the first alone.
  [[nodiscard]] bool is_outside(std::size_t batch) const;
  [[nodiscard]] std::vector<std::size_t> signals_of(statistics::ControlRule rule) const;
};

// Versions oldest first.
[[nodiscard]] ControlTold control_told(std::span<const BatchPoint> batches,
                                       std::vector<ControlVersion> versions);

}  // namespace endgate::daemon
