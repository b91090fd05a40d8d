// What does the bench of a later test read differently from the bench of an earlier one?
//
//   d = what the later bench reads at the time of the later test
//       - what the earlier bench reads at the time of the earlier test            SI, per metric
//
// Two sources, in this order:
//
//   reference units of the same model that were tested at both places and times: the difference of
//   their means, over the kReadingsLookedAt tests nearest in position to each, three or more on
//   each side.  u^2 = s^2 (1/n + 1/m) v / (v - 2), s the scatter of a test of one unit at one place
//   with v degrees of freedom: the deviation of Student's t.  Several units: their weighted mean,
//   u as wide as they scatter about it (Birge ratio, from memory); two that differ by more than
//   kContradictedAt times the u of their difference leave the metric without an answer.
//   A unit that was learned anew is as another unit from there on; what the service did not take
//   as a test of its unit does not count, what failed does.
//
//   batches that were tested on both benches, for tests on different benches: the difference of
//   their means over the kBatchesLookedAt batches nearest to the earlier test, four or more, with
//   u^2 = s^2 / n (n - 1) / (n - 3); and what the later bench reads differently since then, by
//   its reference units.  First tests that did not fail count.  Lots that were spread over the benches make that fair.
//
// Only readings under the same calibration of the bench as the test they stand for count, so that a
// calibration in between is seen as what it changed.  A lone reference unit that wore is taken for
// the bench; several contradict each other then.  Batch means and reference units err independently.

#pragma once

#include <cstddef>
#include <map>
#include <string>

#include "schema/store.h"

namespace endgate::daemon {

inline constexpr std::size_t kReadingsLookedAt = 8, kBatchesLookedAt = 6;
inline constexpr std::size_t kFewestReadings = 3, kFewestBatches = 4;
inline constexpr double kContradictedAt = 3;
// Positions to either side of the earlier test among which common batches are looked for: facts, of
// which a test makes about three.
inline constexpr schema::Position kPositionsLookedAt = 1500;

struct BenchReading {
  double reads_more = 0, u = 0;  // SI
};
// By metric; a metric about which too little is known is not there.
[[nodiscard]] std::map<std::string, BenchReading> bench_between(const schema::StoreReader& store,
                                                                const schema::StoredRecord& earlier,
                                                                const schema::StoredRecord& later);

}  // namespace endgate::daemon
