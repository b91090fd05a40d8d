// The gas in the receiver as the blocks of a look know it: what analysis/receiver_gas.h follows.

#pragma once

#include "analysis/context.h"
#include "analysis/receiver_gas.h"
#include "analysis/step_sums.h"

namespace endgate::analysis {

[[nodiscard]] const ChannelFacts* facts_of_role(const BenchFacts& bench, Role role);

// kNoReceiver where the bench has none of that name.
[[nodiscard]] std::uint8_t receiver_of(const StepSums& sums, const BenchFacts& bench);

[[nodiscard]] GasReadings gas_of_blocks(const StepSums& sums, const Context& context,
                                        double inlet_pressure_abs_pa);

}  // namespace endgate::analysis
