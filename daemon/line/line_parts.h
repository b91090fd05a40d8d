// The parts of a LineState that are computed from definitions and results.

#pragma once

#include <string>
#include <vector>

#include "analysis/context.h"
#include "analysis/evaluation.h"
#include "analysis/standing.h"
#include "daemon/definitions/model_definition.h"
#include "daemon/line/line_state.h"

namespace endgate::daemon {

[[nodiscard]] std::vector<RailStep> rail_of(const ModelDefinition& model);
// Steps before `current` done, `current` now, the rest to come.
void mark_rail(std::vector<RailStep>& rail, std::size_t current);
// As the trace says it went: cut-short steps are broken.
void mark_rail(std::vector<RailStep>& rail, const analysis::RawTrace& trace);

// The limits on free-air delivery, by gauge pressure: the band the curve is drawn in.
[[nodiscard]] std::vector<LimitBandPoint> limit_band_of(const analysis::LimitSet& limits);

// Failed first, then undecided, then by margin over uncertainty: the order of interest.
[[nodiscard]] std::vector<analysis::LimitOutcome> by_interest(
    std::vector<analysis::LimitOutcome> limits, const std::vector<analysis::Metric>& metrics);

[[nodiscard]] LineResult result_of(const analysis::Evaluation& evaluation,
                                   const analysis::Standing& standing, std::int64_t position,
                                   std::optional<double> cycle_s, bool kept_samples);

}  // namespace endgate::daemon
