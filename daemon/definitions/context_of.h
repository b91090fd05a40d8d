// Which pinned facts does a test of this model on this bench rest on?
//
// Joins the accepted bench, model, calibration, corrections and limit set into the Context, each
// field carrying the id "kind subject@version" of the accepted text it came from.

#pragma once

#include <string>
#include <variant>

#include "analysis/context.h"
#include "daemon/definitions/load.h"

namespace endgate::daemon {

struct AcceptedVersions {  // version number of the accepted text of each kind
  int bench = 1, model = 1, calibration = 1, corrections = 1, limits = 1, causes = 1;
};

// The string says what is missing or does not fit (a channel without calibration, a receiver
// unknown to the bench, a model without limits ...).  `causes`: null when none were accepted.
[[nodiscard]] std::variant<analysis::Context, std::string> context_of(
    const BenchDefinition& bench, const ModelDefinition& model, const CalibrationFacts& calibration,
    const CorrectionFacts& corrections, const LimitFacts& limits, const AcceptedVersions& versions,
    const CauseFacts* causes = nullptr);

}  // namespace endgate::daemon
