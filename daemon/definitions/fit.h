// Can this model be tested on this bench, and what does a bench leave unpromised?

#pragma once

#include <string>
#include <vector>

#include "daemon/definitions/bench_definition.h"
#include "daemon/definitions/model_definition.h"

namespace endgate::daemon {

// One plain clause for each thing that keeps the model from being tested on the bench: a voltage
// it cannot feed, a pressure out of range, an actuator the sequence needs, an unknown receiver.
// Empty: it fits.
[[nodiscard]] std::vector<std::string> misfits_of(const BenchDefinition& bench,
                                                  const ModelDefinition& model);

// What an operator may not rely on with this bench, one sentence each, for `endgate check` and the
// bench page.  The bench is accepted all the same.  Empty: everything is promised.
[[nodiscard]] std::vector<std::string> not_promised_of(const BenchDefinition& bench);

}  // namespace endgate::daemon
