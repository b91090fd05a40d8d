#include "daemon/bench/sequence.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/bench/made_bench.h"

namespace endgate::tests {
namespace {

using analysis::BreakOff;
using analysis::StepEnd;
using ::testing::ElementsAre;
using ::testing::HasSubstr;

class SequenceTest : public ::testing::Test {
 protected:
  BenchDefinition bench = made_bench();
  ModelDefinition model = made_model();
  FrameSource source{bench};
  std::unique_ptr<Sequence> sequence;
  std::vector<ActuatorCommand> all;

  void take(const SequenceOutput& out) {
    source.obey(out.commands);
    all.insert(all.end(), out.commands.begin(), out.commands.end());
  }
  void begin() {
    sequence = std::make_unique<Sequence>(bench, model);
    take(sequence->begin(source.next()));
  }
  // Until the step with this index is under way, or the sequence is finished.
  void run_to(std::size_t index) {
    for (int i = 0; i < 5000 && !sequence->finished() && sequence->progress().index < index; ++i)
      take(sequence->on_frame(source.next()));
  }
  void run_to_end() { run_to(1000); }
  const analysis::StepMark& step(std::size_t index) const { return sequence->steps().at(index); }
  double length_s(std::size_t index) const {
    return static_cast<double>(step(index).end_us - step(index).start_us) * 1e-6;
  }
  std::optional<double> last_command(const std::string& actuator) const {
    std::optional<double> value;
    for (const ActuatorCommand& each : all)
      if (each.actuator == actuator) value = each.value_si;
    return value;
  }
};

TEST_F(SequenceTest, GoesThroughEveryStepToItsEnd) {
  begin();
  run_to_end();
  ASSERT_TRUE(sequence->finished());
  ASSERT_EQ(sequence->steps().size(), model.sequence.size());
  for (std::size_t i = 0; i < model.sequence.size(); ++i) {
    EXPECT_EQ(step(i).id, model.sequence[i].id);
    EXPECT_EQ(step(i).end, StepEnd::complete) << step(i).id;
    EXPECT_TRUE(step(i).ready_us) << step(i).id;
    if (i > 0) {
      EXPECT_EQ(step(i).start_us, step(i - 1).end_us);
    }
  }
  EXPECT_EQ(sequence->broken_off(), BreakOff::none);
  EXPECT_FALSE(sequence->tripped());
}

TEST_F(SequenceTest, LeavesTheBenchWithoutPowerAndPressure) {
  begin();
  run_to_end();
  EXPECT_EQ(last_command("motor_relay"), 0);
  EXPECT_EQ(last_command("supply_voltage"), 0);
  EXPECT_EQ(last_command("back_pressure"), 0);
  EXPECT_EQ(last_command("vent"), 1);
  EXPECT_EQ(last_command("shut_off"), 0);
  EXPECT_EQ(last_command("seal_vent"), 1);
  EXPECT_EQ(last_command("seal_fill"), 0);
}

TEST_F(SequenceTest, SwitchesTheRelayOnAfterValvesAndSupply) {
  begin();
  all.clear();
  run_to(1);
  std::vector<std::string> order;
  for (const ActuatorCommand& each : all) order.push_back(each.actuator);
  EXPECT_THAT(order, ElementsAre("receiver", "back_pressure", "shut_off", "vent", "supply_voltage",
                                 "motor_relay"));
  EXPECT_TRUE(sequence->motor_should_run());
}

TEST_F(SequenceTest, WaitsForTheReceiverToEmptyBeforeTheStart) {
  source.set(Role::discharge_pressure, 400e3);
  begin();
  run_to(1);
  EXPECT_GT(length_s(0), 0.5 + 18 * 0.02);  // 380 kPa at 20 kPa a frame, then the dwell
  EXPECT_EQ(step(0).end, StepEnd::complete);
}

TEST_F(SequenceTest, DoesNotStartOnAReceiverThatStaysUnderPressure) {
  begin();
  source.set(Role::discharge_pressure, 400e3);
  for (int i = 0; i < 1000 && sequence->steps().empty(); ++i) {
    source.set(Role::discharge_pressure, 400e3);
    take(sequence->on_frame(source.next()));
  }
  EXPECT_EQ(sequence->broken_off(), BreakOff::not_started);
  EXPECT_EQ(last_command("motor_relay"), 0);
}

TEST_F(SequenceTest, AccusesAUnitThatDoesNotStartAlthoughItIsPowered) {
  source.motor_starts = false;
  begin();
  run_to_end();
  ASSERT_TRUE(sequence->tripped());
  EXPECT_EQ(sequence->tripped()->limit_id, "no_start");
  EXPECT_EQ(sequence->tripped()->accuses, analysis::TripAccuses::unit);
  EXPECT_TRUE(sequence->tripped()->confirmed);
  EXPECT_EQ(sequence->tripped()->confirmed_by, "supply_voltage");
  EXPECT_EQ(step(1).end, StepEnd::tripped);
  EXPECT_NEAR(length_s(1), model.start_within_s, 0.03);
  EXPECT_EQ(last_command("motor_relay"), 0);
  EXPECT_TRUE(sequence->finished());
}

// The stand-in's speed stays at what the test says; voltage and current tell whether it turns.
class SequenceWithoutTacho : public SequenceTest {
 protected:
  void SetUp() override {
    SequenceTest::SetUp();
    std::erase_if(bench.channels, [](const ChannelDefinition& channel) {
      return channel.facts.role == Role::speed;
    });
    model.nominal.machine_constant_v_s = 0.036;
    model.nominal.winding_resistance_ohm = 0.06;
    model.nominal.brush_drop_v = 0.9;
    model.nominal.friction_torque_nm = 0.1;
  }
};

TEST_F(SequenceWithoutTacho, StartsWhereVoltageAndCurrentAreThoseOfAMotorThatTurns) {
  begin();
  run_to_end();
  EXPECT_FALSE(sequence->tripped());
  EXPECT_EQ(step(1).end, StepEnd::complete);
  ASSERT_TRUE(step(1).ready_us);
  EXPECT_GE(*step(1).ready_us - step(1).start_us, 200'000);
}

TEST_F(SequenceWithoutTacho, AWireThatIsOffIsNoMotorThatTurns) {
  source.motor_starts = false;  // voltage, and no current
  begin();
  run_to_end();
  ASSERT_TRUE(sequence->tripped());
  EXPECT_EQ(sequence->tripped()->limit_id, "no_start");
  EXPECT_EQ(sequence->tripped()->channel_id, "supply_current");
}

TEST_F(SequenceTest, DoesNotConfirmNoStartWithoutVoltage) {
  source.motor_starts = false;
  begin();
  run_to(1);
  source.set(Role::supply_voltage, std::nullopt);
  run_to_end();
  ASSERT_TRUE(sequence->tripped());
  EXPECT_FALSE(sequence->tripped()->confirmed);
}

TEST_F(SequenceTest, GoesOnAfterAHoldThatIsNeverReached) {
  source.reachable_gauge_pa = 350e3;
  begin();
  run_to_end();
  EXPECT_EQ(step(4).id, "hold_400");
  EXPECT_EQ(step(4).end, StepEnd::bench_time_limit);
  EXPECT_FALSE(step(4).ready_us);
  EXPECT_FALSE(step(4).reason.empty());
  EXPECT_NEAR(length_s(4), 10, 0.03);
  EXPECT_EQ(sequence->steps().size(), model.sequence.size());
}

TEST_F(SequenceTest, EndsASteadyHoldAsSoonAsTheRuleAllows) {
  begin();
  run_to(4);
  EXPECT_NEAR(length_s(3), 1.6, 0.05);
}

TEST_F(SequenceTest, ProlongsAHoldWhoseFlowDriftsToItsLongest) {
  begin();
  run_to(3);
  double flow = 1e-3;
  while (sequence->progress().index == 3) {
    Frame frame = source.next();
    flow *= 1.0005;  // 2.5 % a second
    frame.value_si[static_cast<std::size_t>(Role::flow)] = flow;
    take(sequence->on_frame(frame));
  }
  EXPECT_NEAR(length_s(3), 3, 0.05);
}

TEST_F(SequenceTest, StopsTheMotorAndShutsTheReceiverForTheBackLeak) {
  begin();
  run_to(5);
  EXPECT_FALSE(sequence->motor_should_run());
  EXPECT_EQ(last_command("back_pressure"), 300e3);
  EXPECT_EQ(last_command("shut_off"), 0);
  run_to(6);
  ASSERT_TRUE(step(5).ready_us);
  EXPECT_NEAR(static_cast<double>(step(5).end_us - *step(5).ready_us) * 1e-6, 2, 0.03);
}

TEST_F(SequenceTest, ShutsTheReceiverAfterTwoSecondsWhenItCannotBeLetDown) {
  begin();
  run_to(5);
  while (sequence->progress().index == 5) {
    Frame frame = source.next();
    frame.value_si[0] = 400e3;
    take(sequence->on_frame(frame));
  }
  EXPECT_NEAR(static_cast<double>(*step(5).ready_us - step(5).start_us) * 1e-6, 2, 0.03);
}

TEST_F(SequenceTest, ShutsASealThatHasStoodAtItsPressureForAWhile) {
  source.seal_reaches_pa = 19.9e3;  // a regulated fill stays a little below its target
  model.sequence[6].tolerance_gauge_pa = 1000;
  begin();
  run_to(7);
  ASSERT_TRUE(step(6).ready_us);
  const double filled_s = static_cast<double>(*step(6).ready_us - step(6).start_us) * 1e-6;
  EXPECT_NEAR(filled_s, 3.2, 0.05);  // 0.2 s of filling, then the soak
  EXPECT_NEAR(length_s(6), 3.2 + 1.5, 0.05);
}

TEST_F(SequenceTest, MeasuresASealThatOnlyFillsHalfWay) {
  source.seal_reaches_pa = 12e3;
  begin();
  run_to(7);
  EXPECT_TRUE(step(6).ready_us);
  EXPECT_EQ(step(6).end, StepEnd::complete);
}

TEST_F(SequenceTest, NeverCallsASealReadyThatDoesNotFill) {
  source.seal_reaches_pa = 1e3;
  begin();
  run_to(7);
  EXPECT_FALSE(step(6).ready_us);
  EXPECT_EQ(step(6).end, StepEnd::bench_time_limit);
  EXPECT_THAT(step(6).reason, HasSubstr("could not be filled"));
  EXPECT_EQ(last_command("seal_fill"), 0);
}

// A model without a back leak: nothing before the seal test has switched the motor off.
TEST_F(SequenceTest, SwitchesTheMotorOffForASealTestThatFollowsTheHolds) {
  std::erase_if(model.sequence, [](const StepDefinition& each) { return each.id == "back_leak"; });
  begin();
  run_to(5);
  EXPECT_EQ(sequence->under_way()->id, "seal_leak");
  EXPECT_FALSE(sequence->motor_should_run());
  EXPECT_EQ(last_command("motor_relay"), 0);
  EXPECT_EQ(last_command("vent"), 1);
  run_to_end();
  EXPECT_EQ(step(5).end, StepEnd::complete) << step(5).reason;
}

TEST_F(SequenceTest, SwitchesTheMotorOffWhenASealTestComesToItsOwnPlace) {
  std::erase_if(model.sequence, [](const StepDefinition& each) { return each.id == "back_leak"; });
  model.sequence[5].begins_with = "hold_400";
  begin();
  run_to(4);
  EXPECT_TRUE(sequence->motor_should_run()) << "beside the hold it only fills";
  run_to_end();
  EXPECT_EQ(step(5).id, "seal_leak");
  EXPECT_EQ(step(5).end, StepEnd::complete) << step(5).reason;
}

TEST_F(SequenceTest, EmptiesTheReceiverDuringTheSealTest) {
  begin();
  run_to(6);
  EXPECT_EQ(last_command("vent"), 1);
  EXPECT_EQ(last_command("shut_off"), 0);
}

TEST_F(SequenceTest, IsNotFinishedBeforeTheRelayIsReadBackOpen) {
  begin();
  run_to(7);
  source.follows_relay = false;
  source.now.interlocks.motor_relay_closed = true;
  for (int i = 0; i < 100; ++i) take(sequence->on_frame(source.next()));
  EXPECT_FALSE(sequence->finished());
  source.now.interlocks.motor_relay_closed = false;
  take(sequence->on_frame(source.next()));
  EXPECT_TRUE(sequence->finished());
}

TEST_F(SequenceTest, GivesUpOnABenchThatCannotBeMadeSafe) {
  begin();
  run_to(4);
  source.follows_relay = false;
  take(sequence->break_off(BreakOff::stopped_by_person, "stopped by A", source.now.bench_time_us));
  for (int i = 0; i < 510 && !sequence->finished(); ++i) take(sequence->on_frame(source.next()));
  EXPECT_TRUE(sequence->finished());
}

TEST_F(SequenceTest, SendsMotorOffFirstWhenItTrips) {
  begin();
  run_to(4);
  analysis::Trip trip;
  trip.limit_id = "supply_current_max";
  trip.time_us = source.now.bench_time_us;
  const SequenceOutput out = sequence->trip(trip);
  ASSERT_FALSE(out.commands.empty());
  EXPECT_EQ(out.commands[0].actuator, "motor_relay");
  EXPECT_EQ(out.commands[0].value_si, 0);
  ASSERT_EQ(out.ended.size(), 1u);
  EXPECT_EQ(out.ended[0].end, StepEnd::tripped);
  take(out);
  run_to_end();
  EXPECT_TRUE(sequence->finished());
  EXPECT_EQ(sequence->tripped()->limit_id, "supply_current_max");
}

class SequenceBreakOffTest : public SequenceTest, public ::testing::WithParamInterface<BreakOff> {};

TEST_P(SequenceBreakOffTest, EndsSafelyFromEveryStep) {
  for (std::size_t index = 0; index < model.sequence.size(); ++index) {
    source = FrameSource(bench);
    begin();
    run_to(index);
    const SequenceOutput out = sequence->break_off(GetParam(), "why", source.now.bench_time_us);
    EXPECT_EQ(out.commands.at(0).actuator, "motor_relay");
    take(out);
    EXPECT_FALSE(sequence->motor_should_run());
    run_to_end();
    EXPECT_TRUE(sequence->finished());
    EXPECT_EQ(sequence->steps().back().end, StepEnd::broken_off);
    EXPECT_EQ(sequence->steps().size(), index + 1);
    EXPECT_EQ(sequence->broken_off(), GetParam());
    EXPECT_EQ(sequence->break_off_detail(), "why");
  }
}

INSTANTIATE_TEST_SUITE_P(EveryCause, SequenceBreakOffTest,
                         ::testing::Values(BreakOff::silence, BreakOff::lost_link,
                                           BreakOff::cover_open, BreakOff::emergency_stop,
                                           BreakOff::stopped_by_person, BreakOff::clock_sick,
                                           BreakOff::lease_lost, BreakOff::actuator_refused));

TEST_F(SequenceTest, EndsTheTestWhenBenchTimeLagsBehindTheSteadyClock) {
  begin();
  run_to(4);
  for (int i = 0; i < 2000 && !sequence->making_safe(); ++i) {
    source.now.arrived += std::chrono::milliseconds(180);
    source.reachable_gauge_pa = 100e3;
    take(sequence->on_frame(source.next()));
  }
  EXPECT_EQ(sequence->broken_off(), BreakOff::clock_sick);
  EXPECT_EQ(sequence->steps().back().end, StepEnd::steady_time_limit);
}

TEST_F(SequenceTest, AppliesTheSteadyLimitOfTheWholeTest) {
  model.whole_test_limit_s = 4;
  begin();
  run_to_end();
  EXPECT_EQ(sequence->broken_off(), BreakOff::clock_sick);
  EXPECT_THAT(sequence->break_off_detail(), HasSubstr("the whole test"));
}

TEST_F(SequenceTest, AnswersASecondOrderToStopWithNothing) {
  begin();
  take(sequence->break_off(BreakOff::silence, "first", 0));
  EXPECT_TRUE(sequence->break_off(BreakOff::cover_open, "second", 0).commands.empty());
  EXPECT_EQ(sequence->break_off_detail(), "first");
}

TEST_F(SequenceTest, RefusesAStepOfAKindItCannotDrive) {
  model.sequence.insert(model.sequence.begin() + 1,
                        made_step("coast", analysis::StepKind::coast_down, 1));
  begin();
  run_to_end();
  EXPECT_EQ(sequence->broken_off(), BreakOff::not_started);
}

TEST_F(SequenceTest, NamesTheReceiverInUseInEveryMark) {
  for (StepDefinition& step : model.sequence) step.receiver = "large";
  begin();
  run_to_end();
  EXPECT_EQ(last_command("receiver"), 1);
  for (const analysis::StepMark& mark : sequence->steps()) EXPECT_EQ(mark.receiver, "large");
}

}  // namespace
}  // namespace endgate::tests
