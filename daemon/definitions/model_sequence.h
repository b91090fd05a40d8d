// Which steps make up the test of a model, and do they come in an order that can be run?
//
//   zero, start, warm_up (may be left out), holds, then with the motor off back_leak and seal_leak
//   (either may be left out), and vent at the end.  pump_up and ramp stand among the holds.  A kind
//   that no bench can drive is refused.

#pragma once

#include <string>
#include <vector>

#include "daemon/definitions/model_definition.h"
#include "daemon/definitions/toml_reader.h"

namespace endgate::daemon {

[[nodiscard]] std::vector<StepDefinition> read_sequence(TomlReader& root);

// Every metric a model asks for needs the steps it comes from.
void check_metrics_are_measured(TomlReader& root, const std::vector<std::string>& metrics,
                                const std::vector<StepDefinition>& sequence);

}  // namespace endgate::daemon
