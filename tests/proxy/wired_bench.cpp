#include "tests/proxy/wired_bench.h"

#include <algorithm>

namespace endgate::tests {
namespace {

using analysis::Role;

constexpr double kStreamed_hz = 1000;

boost::asio::ip::tcp::endpoint on_loopback(std::uint16_t port) {
  return {boost::asio::ip::address_v4::loopback(), port};
}

simbench::InstrumentsOptions instruments_of(Wire wire) {
  simbench::InstrumentsOptions options;
  options.room.relative_humidity = 0.45;
  if (wire == Wire::stream) options.waveform_hz = kStreamed_hz;
  return options;
}

bool is_measured_while_running(Role role) {
  return role == Role::discharge_pressure || role == Role::flow || role == Role::supply_voltage ||
         role == Role::supply_current || role == Role::speed;
}

DeviceDefinition device_named(const char* id, LinkKind link, const DeviceDefinition& like) {
  DeviceDefinition device;
  device.id = id;
  device.link = link;
  device.host = like.host;
  device.transaction_deadline = like.transaction_deadline;
  device.reconnect_first = like.reconnect_first;
  device.reconnect_last = like.reconnect_last;
  device.own_pace = is_scpi(link);  // as the loader has it
  return device;
}

void ask_in_words(BenchDefinition& bench) {
  DeviceDefinition meter = device_named("meter", LinkKind::scpi_tcp, bench.devices[0]);
  for (ChannelDefinition& channel : bench.channels) {
    if (!is_measured_while_running(channel.facts.role)) continue;
    RegisterSource& source = channel.source;
    meter.queries.push_back({"INP? " + std::to_string(source.address), "{number}"});
    source.device = meter.id;
    source.address = static_cast<std::uint16_t>(4 * (meter.queries.size() - 1));
    source.type = RegisterType::f64;
    source.no_value.clear();
  }
  for (ActuatorDefinition& actuator : bench.actuators) {
    if (actuator.id != "motor_relay") continue;
    meter.commands = {"HOLD " + std::to_string(actuator.address) + ",{value}"};
    actuator.device = meter.id;
    actuator.address = 0;
    actuator.type = RegisterType::f64;
  }
  bench.devices.push_back(std::move(meter));
}

void stream_the_current(BenchDefinition& bench) {
  bench.devices.push_back(device_named("daq", LinkKind::sample_stream, bench.devices[0]));
  for (ChannelDefinition& channel : bench.channels) {
    if (channel.facts.role != Role::supply_current) continue;
    channel.source = {"daq", 4, 0, RegisterType::i16, WordOrder::high_first, {-32768}};
    channel.source.column = 0;
    channel.facts.period_s = 1 / kStreamed_hz;
    channel.facts.lag_s = 0;
    channel.facts.noise_sigma_si = 0.05;
    channel.facts.noise_correlation_s = 1 / kStreamed_hz;
  }
}

// Ten times as fast, a busy machine's 5 ms are 50 ms of the bench: too much while a pressure rises.
void hold_instead_of_ramp(ModelDefinition& model) {
  for (StepDefinition& step : model.sequence) {
    if (step.kind != analysis::StepKind::ramp) continue;
    step.kind = analysis::StepKind::hold;
    step.id = "hold_400";
    step.target_gauge_pa = 400e3;
    step.hold_min_s = 4;
  }
}

}  // namespace

BenchDefinition wired(BenchDefinition bench, Wire wire) {
  DeviceDefinition& io = bench.devices[0];
  io.transaction_deadline = 250ms;
  io.reconnect_first = 5ms;
  io.reconnect_last = 100ms;
  bench.clock->declared_rate = rate_of(wire);
  for (ActuatorDefinition& actuator : bench.actuators) actuator.follow_within = 1s;
  for (ChannelDefinition& channel : bench.channels)  // a busy machine may stand still so long
    channel.facts.silent_after_s = std::max(channel.facts.silent_after_s, 1.0);
  if (wire == Wire::modbus_rtu) {
    io.link = LinkKind::modbus_rtu;
    io.line.baud = 115200;
  }
  if (wire == Wire::text) ask_in_words(bench);
  if (wire == Wire::stream) stream_the_current(bench);
  return bench;
}

WiredBench::WiredBench(Wire wire)
    : wire_(wire),
      device_(rate_of(wire), instruments_of(wire)),
      proxy_(io_, on_loopback(0), on_loopback(far_port())),
      line_(io_, folder_.path() / "line", on_loopback(proxy_.port())),
      definition_(
          wired(loaded_from(load_bench(scenario_text("benches/north.toml"), "bench")), wire)),
      model_(loaded_from(load_model(scenario_text("models/P1-60-12.toml"), "model"))) {
  DeviceDefinition& io = definition_.devices[0];
  io.port = wire == Wire::modbus_tcp ? proxy_.port() : device_.port();
  io.line.path = folder_.path() / "line";
  if (definition_.devices.size() > 1) definition_.devices[1].port = proxy_.port();
  for (StepDefinition& step : model_.sequence) step.limit_s = step.steady_limit_s = 60;
  model_.start_within_s = 30;
  hold_instead_of_ramp(model_);
  proxy_.start();
  if (wire == Wire::modbus_rtu) line_.start();
}

WiredBench::~WiredBench() = default;

std::uint16_t WiredBench::far_port() const {
  switch (wire_) {
    case Wire::modbus_tcp:
      return device_.port();
    case Wire::modbus_rtu:
      return device_.serial_port();
    case Wire::text:
      return device_.text_port();
    case Wire::stream:
      break;
  }
  return device_.waveform_port();
}

void WiredBench::connect() {
  BenchEvents events;
  events.finished = [this](FinishedTest test) { finished_ = std::move(test); };
  events.alarm = [this](const std::string& code, const std::string&) { alarms_.push_back(code); };
  bench_ = std::make_unique<Bench>(io_, definition_, std::vector<analysis::ChannelCalibration>{},
                                   std::move(events));
  bench_->connect();
  until_ready();
}

void WiredBench::start_and_run_to(const std::string& step) {
  hand("clamp " + sound_unit());
  if (!bench_) connect();
  finished_.reset();
  alarms_.clear();
  bench_->start(model_);
  const auto& steps = model_.sequence;
  const auto index =
      static_cast<std::size_t>(std::ranges::find(steps, step, &StepDefinition::id) - steps.begin());
  until([&] { return finished_ || (bench_->live().step && bench_->live().step->index == index); });
}

void WiredBench::be_patient() {
  for (DeviceDefinition& device : definition_.devices) device.transaction_deadline = 2s;
  for (ChannelDefinition& channel : definition_.channels)
    if (channel.facts.stuck_after_s) channel.facts.stuck_after_s = 3;
}

void WiredBench::leave_out_leaks() {
  std::erase_if(model_.sequence, [](const StepDefinition& step) {
    return step.kind == analysis::StepKind::back_leak || step.kind == analysis::StepKind::seal_leak;
  });
}

void WiredBench::until_finished() {
  until([this] { return finished_.has_value(); });
}
void WiredBench::until_ready() {
  until([this] { return bench_->live().condition == BenchCondition::ready; });
}

void WiredBench::inject(const std::string& fault) {
  const auto parsed = faultproxy::parse_fault(fault);
  ASSERT_TRUE(std::holds_alternative<faultproxy::ProxyFault>(parsed)) << fault;
  proxy_.set(std::get<faultproxy::ProxyFault>(parsed));
}

void WiredBench::hand(const std::string& command) {
  ASSERT_EQ(simbench::RawLink(device_.control_port()).ask(command), "ok") << command;
}

bool WiredBench::motor_is_on() {
  return (simbench::Libmodbus(device_.port()).input(2, 1).at(0) & 4U) != 0;
}

analysis::Evaluation WiredBench::evaluated() const {
  const auto calibration =
      loaded_from(load_calibration(scenario_text("calibrations/north.toml"), "calibration"));
  const auto corrections =
      loaded_from(load_corrections(scenario_text("corrections/P1-60-12.toml"), "corrections"));
  const auto limits = loaded_from(load_limits(scenario_text("limits/P1-60-12.toml"), "limits"));
  const auto context = context_of(definition_, model_, calibration, corrections, limits, {});
  if (const auto* complaint = std::get_if<std::string>(&context)) ADD_FAILURE() << *complaint;
  return analysis::evaluate(finished_->trace, std::get<analysis::Context>(context));
}

}  // namespace endgate::tests
