#include <algorithm>
#include <set>

#include "analysis/metric_facts.h"
#include "daemon/definitions/load_text.h"
#include "daemon/definitions/model_sequence.h"
#include "daemon/definitions/read_over_limit.h"
#include "daemon/definitions/serial_pattern.h"

namespace endgate::daemon {
namespace {

// Codes on the line's own command labels begin so; a serial that did could not be told from them.
constexpr std::string_view kCommandPrefix = "EG-";

void read_serial(TomlReader& root, ModelDefinition& model) {
  model.serial_pattern = root.text("serial_pattern");
  model.check_character = root.flag_or("check_character", model.check_character);
  if (!root.sound("serial_pattern")) return;
  if (!is_pattern(model.serial_pattern))
    root.complain("serial_pattern", "an ECMAScript regular expression of the whole serial");
  const std::size_t first = model.serial_pattern.find_first_not_of("^(");
  if (first != std::string::npos &&
      std::string_view(model.serial_pattern).substr(first).starts_with(kCommandPrefix))
    root.complain("serial_pattern", "serials that do not begin with EG-: those are command labels");
}

void read_supply(TomlReader& root, ModelDefinition& model) {
  const NumberRange volts{.min = 0, .max = 1000, .min_excluded = true};
  model.supply_voltage_v = root.number("supply_voltage_v", volts);
  model.supply_set_v = root.number("supply_set_v", volts);
  model.start_within_s = root.number("start_within_s", {.min = 0, .max = 60, .min_excluded = true});
  model.running_speed_rev_s = root.number("running_speed_rev_s", kAboveZero);
}

void read_nominal(TomlReader& part, analysis::NominalPhysics& nominal) {
  nominal.cylinders = static_cast<int>(part.integer("cylinders", 1, 8));
  nominal.swept_volume_m3 = part.number("swept_volume_m3", kAboveZero);
  nominal.clearance_ratio = part.number("clearance_ratio", kShare);
  nominal.polytropic_exponent = part.number("polytropic_exponent", {.min = 1, .max = 2});
  nominal.heating_factor = part.number("heating_factor", {.min = 0, .max = 1.2});
  nominal.suction_loss_pa = part.number("suction_loss_pa", kNotNegative);
  nominal.discharge_loss_pa = part.number("discharge_loss_pa", kNotNegative);
  nominal.mechanical_efficiency =
      part.number("mechanical_efficiency", {.min = 0, .max = 1, .min_excluded = true});
  nominal.friction_torque_nm = part.number("friction_torque_nm", kNotNegative);
  nominal.machine_constant_v_s = part.number("machine_constant_v_s", kAboveZero);
  nominal.winding_resistance_ohm = part.number("winding_resistance_ohm", kAboveZero);
  nominal.brush_drop_v = part.number("brush_drop_v", kNotNegative);
  nominal.leak_m3_s_pa2 = part.number("leak_m3_s_pa2", kNotNegative);
  nominal.moment_of_inertia_kg_m2 = part.number_or("moment_of_inertia_kg_m2", 0, kNotNegative);
}

void read_reference(TomlReader& part, const ModelDefinition& model,
                    analysis::ReferenceConditions& reference) {
  const NumberRange kelvin{.min = 250, .max = 500};
  reference.inlet_pressure_abs_pa = part.number_or(
      "inlet_pressure_abs_pa", reference.inlet_pressure_abs_pa, {.min = 50000, .max = 150000});
  reference.inlet_temperature_k =
      part.number_or("inlet_temperature_k", reference.inlet_temperature_k, kelvin);
  reference.supply_voltage_v =
      part.number_or("supply_voltage_v", model.supply_voltage_v, kAboveZero);
  reference.warm_head_temperature_k = part.number("warm_head_temperature_k", kelvin);
  reference.warm_case_temperature_k = part.number("warm_case_temperature_k", kelvin);
  reference.warm_winding_temperature_k = part.number_or("warm_winding_temperature_k", 0, kelvin);
}

void read_steady(TomlReader& part, analysis::SteadyRule& steady) {
  steady.settle_s = part.number_or("settle_s", steady.settle_s, kNotNegative);
  steady.min_window_s = part.number_or("min_window_s", steady.min_window_s, kAboveZero);
  steady.max_drift_rel = part.number_or("max_drift_rel", steady.max_drift_rel, kAboveZero);
}

void read_ripple(TomlReader& part, analysis::RippleExpectation& ripple) {
  ripple.commutations_per_rev = static_cast<int>(part.integer("commutations_per_rev", 3, 200));
  ripple.slowest_rev_s = part.number("slowest_rev_s", kAboveZero);
  ripple.fastest_rev_s = part.number("fastest_rev_s", kAboveZero);
  if (part.sound("slowest_rev_s") && part.sound("fastest_rev_s") &&
      ripple.fastest_rev_s <= ripple.slowest_rev_s)
    part.complain("fastest_rev_s", "a number above slowest_rev_s");
}

void read_service_pressures(TomlReader& part, analysis::ServiceConditions& service) {
  service.back_leak_gauge_pa = part.number_or("back_leak_gauge_pa", 0, kAboveZero);
  service.seal_leak_gauge_pa = part.number_or("seal_leak_gauge_pa", 0, kAboveZero);
}

// A pressure of service is asked for by a metric, and the metric needs the pressure and the test.
void check_service(TomlReader& root, const ModelDefinition& model) {
  const auto asks = [&](std::string_view id) {
    return std::ranges::find(model.metrics, id) != model.metrics.end();
  };
  const auto check = [&](const std::string& leak, double gauge_pa) {
    const std::string id = leak + "_service";
    if (asks(id) && !(gauge_pa > 0))
      root.complain("metrics", leak + "_gauge_pa in a table [service] for \"" + id + "\"");
    if (!asks(id) && gauge_pa > 0)
      root.complain("metrics", "\"" + id + "\", which [service] names a pressure for");
    if (asks(id) && !asks(leak))
      root.complain("metrics", "\"" + leak + "\", from which \"" + id + "\" is converted");
  };
  check("back_leak", model.service.back_leak_gauge_pa);
  check("seal_leak", model.service.seal_leak_gauge_pa);
}

// What is found in the motor's current needs to know the motor.
void complain_of_unknown_motor(TomlReader& root, const ModelDefinition& model) {
  for (const char* id : {"ripple_speed_400", "ripple_lock_400", "cylinder_imbalance_400",
                         "commutator_irregularity_400"})
    if (std::ranges::find(model.metrics, id) != model.metrics.end())
      root.complain("metrics", "a table [ripple] for \"" + std::string(id) + "\"");
}

void read_metrics(TomlReader& root, ModelDefinition& model) {
  model.metrics = root.texts("metrics");
  std::set<std::string> seen;
  for (const std::string& id : model.metrics) {
    if (analysis::facts_of_metric(id) == nullptr)
      root.complain("metrics", "ids of schema/metrics.toml, found \"" + id + "\"");
    if (!seen.insert(id).second) root.complain("metrics", "\"" + id + "\" once, found it again");
  }
}

void require_section(TomlReader& root, std::string_view key, const TomlReader::Read& read) {
  if (root.section(key, read) == 0 && !root.has(key))
    root.complain(key, "a table [" + std::string(key) + "], but it is missing");
}

std::vector<std::string> ids_of(const std::vector<StepDefinition>& sequence) {
  std::vector<std::string> ids;
  for (const StepDefinition& step : sequence) ids.push_back(step.id);
  return ids;
}

void read_model(TomlReader& root, ModelDefinition& model) {
  model.id = root.text("id");
  model.name = root.text("name");
  read_serial(root, model);
  read_supply(root, model);
  require_section(root, "nominal", [&](TomlReader& part) { read_nominal(part, model.nominal); });
  require_section(root, "reference",
                  [&](TomlReader& part) { read_reference(part, model, model.reference); });
  root.section("steady", [&](TomlReader& part) { read_steady(part, model.steady); });
  root.section("ripple", [&](TomlReader& part) { read_ripple(part, model.ripple); });
  root.section("service", [&](TomlReader& part) { read_service_pressures(part, model.service); });
  model.expected_cycle_s = root.number("expected_cycle_s", kAboveZero);
  model.whole_test_limit_s = root.number("whole_test_limit_s", kAboveZero);
  read_metrics(root, model);
  model.sequence = read_sequence(root);
  if (root.sound("metrics") && !root.has("ripple")) complain_of_unknown_motor(root, model);
  if (root.sound("metrics")) check_service(root, model);
  if (root.sound("metrics")) check_metrics_are_measured(root, model.metrics, model.sequence);
  model.over_limits = read_over_limits(root, ids_of(model.sequence));
}

}  // namespace

Loaded<ModelDefinition> load_model(std::string_view text, const std::string& file) {
  return load_text<ModelDefinition>(text, file, DefinitionKind::model, read_model);
}

}  // namespace endgate::daemon
