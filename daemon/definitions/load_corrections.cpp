#include "daemon/definitions/load_text.h"

namespace endgate::daemon {
namespace {

void read_corrections(TomlReader& root, CorrectionFacts& facts) {
  const NumberRange per_kelvin{.min = -0.1, .max = 0.1};
  analysis::ThermalCorrection& thermal = facts.thermal;
  facts.model = root.text("model");
  thermal.flow_per_head_k = root.number("flow_per_head_k", per_kelvin);
  thermal.flow_per_case_k = root.number("flow_per_case_k", per_kelvin);
  thermal.speed_per_case_k = root.number("speed_per_case_k", per_kelvin);
  thermal.current_per_case_k = root.number("current_per_case_k", per_kelvin);
  thermal.u_rel_of_correction = root.number("u_rel_of_correction", kNotNegative);
  thermal.inlet_gas_head_share = root.number("inlet_gas_head_share", kShare);
  thermal.u_inlet_gas_head_share = root.number("u_inlet_gas_head_share", kShare);
  thermal.leak_start_k = root.number("leak_start_k", {.min = -50, .max = 50});
  thermal.u_leak_start_k = root.number("u_leak_start_k", kNotNegative);
  thermal.seal_case_share = root.number("seal_case_share", {.min = 0, .max = 2});
  thermal.u_seal_case_share = root.number("u_seal_case_share", kShare);
  thermal.flow_per_head_k_pa = root.number_or("flow_per_head_k_pa", 0, {.min = -1e-6, .max = 1e-6});
  thermal.inlet_gas_discharge_share = root.number_or("inlet_gas_discharge_share", 0, kShare);
  thermal.u_inlet_gas_discharge_share = root.number_or("u_inlet_gas_discharge_share", 0, kShare);
  thermal.flow_per_speed = root.number_or("flow_per_speed", 0, {.min = 0, .max = 2});
  thermal.u_flow_per_speed = root.number_or("u_flow_per_speed", 0, kNotNegative);
  thermal.winding_k_w = root.number_or("winding_k_w", 0, kNotNegative);
  thermal.winding_s = root.number_or("winding_s", 0, kNotNegative);
  thermal.u_winding_rel = root.number_or("u_winding_rel", 0, kNotNegative);
  thermal.current_per_head_k = root.number_or("current_per_head_k", 0, {.min = -0.1, .max = 0.1});
  thermal.current_per_speed = root.number_or("current_per_speed", 0, {.min = -2, .max = 2});
  thermal.u_current_per_speed = root.number_or("u_current_per_speed", 0, kNotNegative);
}

}  // namespace

Loaded<CorrectionFacts> load_corrections(std::string_view text, const std::string& file) {
  return load_text<CorrectionFacts>(text, file, DefinitionKind::corrections, read_corrections);
}

}  // namespace endgate::daemon
