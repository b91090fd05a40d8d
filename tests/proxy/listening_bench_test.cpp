// A whole Bench that samples the motor's current fast, against the simulated bench over real
// sockets at five times real time, and what the evaluation makes of its trace.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>

#include "analysis/evaluate.h"
#include "daemon/bench/bench.h"
#include "daemon/definitions/context_of.h"
#include "daemon/definitions/load.h"
#include "fixtures/bench/physics/population.h"
#include "fixtures/bench/physics/truth.h"
#include "fixtures/proxy/fault_proxy.h"
#include "tests/simbench_server/loopback_bench.h"

namespace endgate::tests {
namespace {

using namespace daemon;
using namespace std::chrono_literals;
using analysis::Role;
using analysis::StepKind;
using testing::HasSubstr;

constexpr double kListeningRate = 5;

std::string text_in(const std::string& file) {
  std::ifstream in(std::filesystem::path(ENDGATE_SOURCE_DIR) / "fixtures" / file);
  return {std::istreambuf_iterator<char>(in), {}};
}

template <class T>
T taken(const Loaded<T>& loaded) {
  if (const auto* errors = std::get_if<std::vector<DefinitionError>>(&loaded))
    ADD_FAILURE() << errors->front().text();
  return std::get<T>(loaded);
}

simbench::InstrumentsOptions with_fast_probe() {
  simbench::InstrumentsOptions options;
  options.waveform_hz = 20000;
  options.room.relative_humidity = 0.45;
  return options;
}

class ListeningBench : public ::testing::Test {
 protected:
  simbench::ServedBench device{kListeningRate, with_fast_probe()};
  boost::asio::io_context io;
  faultproxy::FaultProxy stream{io, loopback(0), loopback(device.waveform_port())};
  BenchDefinition definition = taken(load_bench(
      text_in("scenario/benches/north.toml") + text_in("examples/waveform/bench.toml"), "bench"));
  ModelDefinition model = taken(load_model(
      text_in("scenario/models/P2-120-24.toml") + text_in("examples/waveform/model.toml"),
      "model"));
  std::string serial = simbench::make_serial("2648", 3001);
  std::optional<FinishedTest> finished;
  std::unique_ptr<Bench> bench;

  static boost::asio::ip::tcp::endpoint loopback(std::uint16_t port) {
    return {boost::asio::ip::address_v4::loopback(), port};
  }

  void SetUp() override {
    definition.devices[0].port = device.port();
    definition.devices[1].port = stream.port();
    definition.clock->declared_rate = kListeningRate;
    model.ripple.commutations_per_rev = 16;
    for (const char* id : {"ripple_speed_400", "ripple_lock_400", "cylinder_imbalance_400",
                           "commutator_irregularity_400"})
      model.metrics.emplace_back(id);
    std::erase_if(model.sequence, [](const StepDefinition& step) {
      return step.kind == StepKind::back_leak || step.kind == StepKind::seal_leak ||
             step.id == "hold_800";  // three holds say it all
    });
    for (StepDefinition& step : model.sequence)
      if (step.kind == StepKind::ramp) turn_into_hold(step);  // while it rises nobody listens
    stream.start();
  }

  static void turn_into_hold(StepDefinition& step) {
    step.kind = StepKind::hold;
    step.id = "hold_400";
    step.target_gauge_pa = 400e3;
    step.hold_min_s = 4;
  }

  // Benches without a tacho cannot watch over the speed, so such a model does not ask for it.
  void remove_tacho() {
    std::erase_if(definition.channels, [](const ChannelDefinition& channel) {
      return channel.facts.role == Role::speed;
    });
    std::erase_if(model.over_limits, [](const OverLimit& limit) {
      return limit.role == Role::speed || limit.confirm_role == Role::speed;
    });
  }

  template <class Condition>
  void until(Condition condition) {
    const auto give_up = std::chrono::steady_clock::now() + 60s;
    while (!condition()) {
      ASSERT_LT(std::chrono::steady_clock::now(), give_up) << bench->live().condition_text;
      io.run_one_for(10ms);
    }
  }

  void start(const std::string& fault = "") {
    ASSERT_EQ(simbench::RawLink(device.control_port()).ask("clamp " + serial + fault), "ok");
    if (!bench) connect();
    until([this] { return bench->live().condition == BenchCondition::ready; });
    finished.reset();
    bench->start(model);
  }
  void connect() {
    BenchEvents events;
    events.finished = [this](FinishedTest test) { finished = std::move(test); };
    bench = std::make_unique<Bench>(io, definition, std::vector<analysis::ChannelCalibration>{},
                                    std::move(events));
    bench->connect();
  }
  // A busy machine holds the simulated bench up now and then, and its readings stand still: then
  // the unit is tested again.
  void run(const std::string& fault = "") {
    for (int tries = 0; tries < 4; ++tries) {
      start(fault);
      until_finished();
      if (std::ranges::count(evaluated().health, analysis::HealthState::stuck,
                             &analysis::ChannelHealth::state) == 0)
        return;
    }
  }
  void until_finished() {
    until([this] { return finished.has_value(); });
  }

  [[nodiscard]] analysis::Evaluation evaluated() const {
    const auto calibration =
        taken(load_calibration(text_in("scenario/calibrations/north.toml"), "calibration"));
    const auto corrections =
        taken(load_corrections(text_in("scenario/corrections/P2-120-24.toml"), "corrections"));
    const auto limits = taken(load_limits(text_in("scenario/limits/P2-120-24.toml"), "limits"));
    const auto context = context_of(definition, model, calibration, corrections, limits, {});
    if (const auto* complaint = std::get_if<std::string>(&context)) ADD_FAILURE() << *complaint;
    return analysis::evaluate(finished->trace, std::get<analysis::Context>(context));
  }

  [[nodiscard]] double true_speed_600() const {
    return simbench::truth_of(simbench::Population(1).unit(serial)).metrics.at("speed_600");
  }
};

double value(const analysis::Evaluation& evaluation, const std::string& id) {
  const auto found = std::ranges::find(evaluation.metrics, id, &analysis::Metric::id);
  if (found == evaluation.metrics.end() || !found->value) {
    ADD_FAILURE() << id << ": " << found->missing_reason;
    return -1;
  }
  return *found->value;
}

TEST_F(ListeningBench, GivesSpeedBalanceAndCommutatorBesideTheTacho) {
  run();
  ASSERT_EQ(finished->trace.break_off, analysis::BreakOff::none)
      << finished->trace.break_off_detail;
  const analysis::RawChannel& waveform = finished->trace.channels.back();
  EXPECT_EQ(waveform.id, "motor_current");
  // Two bursts of 0.5 s in each of three holds, in whole blocks of 20 ms.
  EXPECT_EQ(waveform.raw.size(), 2U * 3U * 10000U);
  const analysis::Evaluation got = evaluated();
  EXPECT_GT(value(got, "ripple_lock_400"), 0.99);
  EXPECT_GT(value(got, "ripple_speed_400"), value(got, "speed_600"));
  EXPECT_LT(value(got, "cylinder_imbalance_400"), 0.2);
  EXPECT_LT(value(got, "commutator_irregularity_400"), 0.3);
  for (const analysis::ChannelHealth& one : got.health)
    EXPECT_EQ(one.state, analysis::HealthState::good) << one.channel_id << ": " << one.detail;
}

TEST_F(ListeningBench, ShowsADeadCylinder) {
  run(" dead_cylinder 1");
  EXPECT_GT(value(evaluated(), "cylinder_imbalance_400"), 1);
}

// Of one cylinder three tenths of what it should deliver are lost; a sound unit reads below 0.2.
TEST_F(ListeningBench, ShowsAWornCylinder) {
  run(" dead_cylinder 0.3");
  EXPECT_GT(value(evaluated(), "cylinder_imbalance_400"), 0.25);
}

TEST_F(ListeningBench, NeedsNoTacho) {
  remove_tacho();
  run();
  ASSERT_EQ(finished->trace.break_off, analysis::BreakOff::none)
      << finished->trace.break_off_detail;
  const analysis::Evaluation got = evaluated();
  EXPECT_NEAR(value(got, "speed_600"), true_speed_600(), 0.005 * true_speed_600());
  EXPECT_GT(value(got, "fad_400"), 1e-3);
  for (const analysis::OperatingPoint& point : got.points)
    EXPECT_THAT(point.note, HasSubstr("speed from the current"));
}

TEST_F(ListeningBench, AStreamThatStopsEndsTheTestAndIsNoPass) {
  start();
  until([this] { return bench->live().step && bench->live().step->index == 3; });
  stream.set(std::get<faultproxy::ProxyFault>(faultproxy::parse_fault("stall")));
  until_finished();
  EXPECT_EQ(finished->trace.break_off, analysis::BreakOff::silence)
      << finished->trace.break_off_detail;
  EXPECT_EQ(evaluated().grade.verdict, analysis::Verdict::void_);
}

// The same current out of registers, captured at a trigger and read in chunks.
class CapturingBench : public ListeningBench {
 protected:
  faultproxy::FaultProxy registers{io, loopback(0), loopback(device.port())};

  void SetUp() override {
    definition = taken(load_bench(
        text_in("scenario/benches/north.toml") + text_in("examples/waveform/bench_capture.toml"),
        "bench"));
    ListeningBench::SetUp();
    definition.devices[1].port = registers.port();
    for (StepDefinition& step : model.sequence)  // a capture takes its time to be read
      if (step.kind == StepKind::hold) step.hold_min_s = step.duration_s = 10;
    registers.start();
  }
};

TEST_F(CapturingBench, GivesSpeedAndBalanceAsAStreamDoes) {
  run();
  ASSERT_EQ(finished->trace.break_off, analysis::BreakOff::none)
      << finished->trace.break_off_detail;
  const analysis::RawChannel& waveform = finished->trace.channels.back();
  EXPECT_EQ(waveform.id, "motor_current");
  // Whole captures only: two in each of three holds where there was time for them.
  EXPECT_EQ(waveform.raw.size() % 10000, 0U);
  EXPECT_GE(waveform.raw.size(), 3U * 10000U);
  EXPECT_LE(waveform.raw.size(), 2U * 3U * 10000U);
  const analysis::Evaluation got = evaluated();
  EXPECT_GT(value(got, "ripple_lock_400"), 0.99);
  EXPECT_GT(value(got, "ripple_speed_400"), value(got, "speed_600"));
  EXPECT_LT(value(got, "cylinder_imbalance_400"), 0.2);
}

TEST_F(CapturingBench, AConnectionThatIsLostEndsTheTestAndIsNoPass) {
  start();
  until([this] { return bench->live().step && bench->live().step->index == 3; });
  registers.set(std::get<faultproxy::ProxyFault>(faultproxy::parse_fault("drop")));
  until_finished();
  EXPECT_EQ(finished->trace.break_off, analysis::BreakOff::lost_link)
      << finished->trace.break_off_detail;
  EXPECT_EQ(evaluated().grade.verdict, analysis::Verdict::void_);
}

}  // namespace
}  // namespace endgate::tests
