// On which side of its limits is this unit, and how sure are we?
//
// A lower limit T with guard bands: pass at y >= T + w, else fail at y < T - w', else undecided;
// the bound itself passes.  Upper limits are mirrored.  If a relaxed (negative) band makes the two
// overlap, both become T + w.  A two-sided limit whose bands leave no room is undecided and says
// so. A warn limit never changes a verdict.  Order: void, fail, undecided, pass; pass needs every
// metric the limit set names.

#pragma once

#include <span>

#include "analysis/context.h"
#include "analysis/evaluation.h"

namespace endgate::analysis {

[[nodiscard]] LimitOutcome hold_against(const Metric& metric, const Limit& limit);

// `health`, `trace` and `curve` decide void, trips and contradiction; see DEVELOPERS.md, "Verdict".
[[nodiscard]] Grade grade(const Context& context, const RawTrace& trace,
                          std::span<const ChannelHealth> health, const std::optional<Curve>& curve,
                          std::span<const Metric> metrics);

}  // namespace endgate::analysis
