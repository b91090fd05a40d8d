#include "daemon/definitions/fit.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <utility>

#include "analysis/advise.h"
#include "analysis/motor_runs.h"
#include "daemon/definitions/number_range.h"

namespace endgate::daemon {
namespace {

using analysis::StepKind;

const ActuatorDefinition* actuator_of(const BenchDefinition& bench, const std::string& id) {
  const auto found = std::ranges::find(bench.actuators, id, &ActuatorDefinition::id);
  return found == bench.actuators.end() ? nullptr : &*found;
}

class Misfits {
 public:
  Misfits(const BenchDefinition& bench, const ModelDefinition& model)
      : bench_(bench), model_(model) {}

  std::vector<std::string> all() && {
    voltage();
    for (const StepDefinition& step : model_.sequence) actuators_of(step);
    for (const StepDefinition& step : model_.sequence) pressure_of(step);
    for (const StepDefinition& step : model_.sequence) receiver_of(step);
    for (const OverLimit& limit : model_.over_limits) channel_of(limit);
    speed();
    return std::move(found_);
  }

 private:
  void add(const std::string& clause) {
    if (std::ranges::find(found_, clause) == found_.end()) found_.push_back(clause);
  }
  [[nodiscard]] std::string where() const {
    return "model " + model_.id + " on bench " + bench_.id + ": ";
  }

  void voltage() {
    constexpr double kSameVoltage = 1e-6;
    if (std::ranges::none_of(bench_.supply_voltages_v, [&](double volts) {
          return std::abs(volts - model_.supply_voltage_v) < kSameVoltage;
        }))
      add(where() + plain_number(model_.supply_voltage_v) +
          " V is not among the bench's supply_voltages_v");
    const ActuatorDefinition* supply = actuator_of(bench_, "supply_voltage");
    if (supply != nullptr && model_.supply_set_v > supply->max_si)
      add(where() + "supply_set_v is above what the supply can be set to");
  }

  void need(const std::string& actuator, const std::string& step) {
    if (actuator_of(bench_, actuator) == nullptr)
      add(where() + "step \"" + step + "\" needs the actuator \"" + actuator + "\"");
  }

  void actuators_of(const StepDefinition& step) {
    if (step.kind == StepKind::start) need("motor_relay", step.id);
    if (step.kind == StepKind::vent) need("vent", step.id);
    if (step.kind == StepKind::hold && step.target_gauge_pa > 0) need("back_pressure", step.id);
    if (analysis::rises(step.kind)) need("back_pressure", step.id);
    if (step.kind == StepKind::pump_up || step.kind == StepKind::back_leak)
      need("shut_off", step.id);
    if (step.kind != StepKind::seal_leak) return;
    need("seal_fill", step.id);
    need("seal_vent", step.id);
  }

  void pressure_of(const StepDefinition& step) {
    const analysis::Role role = step.kind == StepKind::seal_leak
                                    ? analysis::Role::seal_pressure
                                    : analysis::Role::discharge_pressure;
    const auto channel = std::ranges::find(
        bench_.channels, role, [](const ChannelDefinition& each) { return each.facts.role; });
    if (channel != bench_.channels.end() && step.target_gauge_pa > channel->facts.range_max_si)
      add(where() + "step \"" + step.id + "\" goes beyond the range of channel \"" +
          channel->facts.id + "\"");
    for (const OverLimit& limit : bench_.over_limits)
      if (limit.upper && limit.role == role && step.target_gauge_pa >= limit.limit_si)
        add(where() + "step \"" + step.id + "\" would trip over-limit \"" + limit.id + "\"");
  }

  void receiver_of(const StepDefinition& step) {
    const bool named = step.kind == StepKind::warm_up && !step.receiver.empty();
    if (step.kind != StepKind::hold && !analysis::rises(step.kind) &&
        step.kind != StepKind::back_leak && !named)
      return;
    if (std::ranges::find(bench_.receivers, step.receiver, &ReceiverDefinition::name) ==
        bench_.receivers.end())
      add(where() + "the bench has no receiver \"" + step.receiver + "\"");
  }

  void channel_of(const OverLimit& limit) {
    for (const std::optional<analysis::Role>& role :
         {std::optional(limit.role), limit.confirm_role})
      if (role && std::ranges::none_of(bench_.channels, [&](const ChannelDefinition& channel) {
            return channel.facts.role == *role;
          }))
        add(where() + "over-limit \"" + limit.id + "\" needs a channel with role " +
            std::string(analysis::name_of(*role)));
  }

  // Without a tacho the speed comes from the motor's current.
  void speed() {
    const bool has_tacho = std::ranges::any_of(bench_.channels, [](const ChannelDefinition& one) {
      return one.facts.role == analysis::Role::speed;
    });
    if (has_tacho) return;
    if (!model_.ripple.known())
      add(where() +
          "the bench has no channel with role speed, so the model needs a table [ripple]");
    for (const StepDefinition& step : model_.sequence)
      if (analysis::rises(step.kind))
        add(where() + "step \"" + step.id +
            "\" needs a channel with role speed: nothing is listened to while the pressure rises; "
            "use holds");
  }

  const BenchDefinition& bench_;
  const ModelDefinition& model_;
  std::vector<std::string> found_;
};

bool is_read_back(const ActuatorDefinition& actuator) {
  return actuator.read_back || actuator.read_back_bit;
}

void missing_read_backs(const BenchDefinition& bench, std::vector<std::string>& found) {
  for (const ActuatorDefinition& actuator : bench.actuators) {
    if (actuator.id == "motor_relay" || actuator.id == "lease" || actuator.id == "owner") continue;
    if (actuator.id == "clamp") continue;  // fixture_clamped is its read-back
    if (!is_read_back(actuator))
      found.push_back("Actuator \"" + actuator.id +
                      "\" has no read-back: that it followed a command is not promised.");
  }
}

// Which of these roles has no channel: "speed, relative_humidity".
std::string roles_without_channel(const BenchDefinition& bench,
                                  const std::vector<analysis::Role>& roles) {
  std::string names;
  for (const analysis::Role role : roles)
    if (std::ranges::none_of(bench.channels, [&](const ChannelDefinition& channel) {
          return channel.facts.role == role;
        }))
      names += (names.empty() ? "" : ", ") + std::string(analysis::name_of(role));
  return names;
}

void missing_for_advice(const BenchDefinition& bench, std::vector<std::string>& found) {
  constexpr std::array<std::pair<StepKind, const char*>, 3> kSteps{
      {{StepKind::hold, "holds"},
       {StepKind::back_leak, "back-leak tests"},
       {StepKind::seal_leak, "seal-leak tests"}}};
  for (const auto& [kind, name] : kSteps) {
    const std::string roles = roles_without_channel(bench, analysis::needed_for_advice(kind));
    if (!roles.empty())
      found.push_back("No channel with role " + roles + ": that " + name +
                      " end as soon as they have decided is not promised; they last as long as the "
                      "model file says.");
  }
}

}  // namespace

std::vector<std::string> misfits_of(const BenchDefinition& bench, const ModelDefinition& model) {
  return Misfits(bench, model).all();
}

std::vector<std::string> not_promised_of(const BenchDefinition& bench) {
  std::vector<std::string> found;
  if (std::ranges::any_of(bench.devices, [](const DeviceDefinition& device) {
        return device.link == LinkKind::recorded_run;
      }))
    return {"A recorded run is played: nothing is measured and nothing is switched."};
  if (!bench.lease)
    found.push_back(
        "No lease: when this program hangs or its machine fails, nothing opens the motor relay.");
  const ActuatorDefinition* relay = actuator_of(bench, "motor_relay");
  if (!bench.interlocks.motor_relay_closed && (relay == nullptr || !is_read_back(*relay)))
    found.push_back("No read-back of the motor relay: that the motor is off is not promised.");
  if (!bench.interlocks.cover_closed)
    found.push_back("No cover input: an open cover does not stop the motor through this program.");
  if (!bench.interlocks.emergency_stop_clear)
    found.push_back("No emergency-stop input: the program cannot tell that it was pressed.");
  if (bench.owner_word == 0)
    found.push_back("No owner word: a second program could command this bench at the same time.");
  if (!bench.clock) found.push_back("No bench clock: bench time is this machine's steady clock.");
  missing_read_backs(bench, found);
  missing_for_advice(bench, found);
  if (bench.motor_current_flows_a > kMotorCurrentFlows_a)
    found.push_back("A motor that takes up to " + plain_number(bench.motor_current_flows_a) +
                    " A counts as off: motor_current_flows_a is above the usual " +
                    plain_number(kMotorCurrentFlows_a) + ".");
  return found;
}

}  // namespace endgate::daemon
