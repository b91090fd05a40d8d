#include "analysis/gas_of_blocks.h"

#include <algorithm>

#include "analysis/survey.h"

namespace endgate::analysis {

const ChannelFacts* facts_of_role(const BenchFacts& bench, Role role) {
  const auto found = std::find_if(bench.channels.begin(), bench.channels.end(),
                                  [&](const ChannelFacts& facts) { return facts.role == role; });
  return found == bench.channels.end() ? nullptr : &*found;
}

std::uint8_t receiver_of(const StepSums& sums, const BenchFacts& bench) {
  const auto found = std::find_if(bench.receivers.begin(), bench.receivers.end(),
                                  [&](const Receiver& one) { return one.name == sums.receiver; });
  return found == bench.receivers.end()
             ? kNoReceiver
             : static_cast<std::uint8_t>(found - bench.receivers.begin());
}

GasReadings gas_of_blocks(const StepSums& sums, const Context& context,
                          double inlet_pressure_abs_pa) {
  GasReadings gas;
  const double density = meter_density_kg_m3(context.bench);
  for (const Block& block : sums.blocks) {
    gas.time_s.push_back(block.time_s);
    gas.gauge_pa.push_back(block.gauge_pa - sums.zero_si[index_of(Role::discharge_pressure)]);
    gas.metered_kg_s.push_back(density * block.flow_m3_s);
    gas.head_k.push_back(block.head_k);
    gas.ambient_k.push_back(block.ambient_k);
    gas.motor_on.push_back(block.motor_on ? 1 : 0);
    gas.outlet_shut.push_back(block.outlet_shut ? 1 : 0);
    gas.compression_rise_k.push_back(
        compression_rise_k(block.ambient_k, 1 + gas.gauge_pa.back() / inlet_pressure_abs_pa,
                           context.model.nominal.polytropic_exponent));
  }
  gas.receiver.assign(gas.time_s.size(), receiver_of(sums, context.bench));
  return gas;
}

}  // namespace endgate::analysis
