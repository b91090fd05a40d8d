// A whole Bench over loopback: contact, tests, safety and what it says about itself.

#include "daemon/bench/bench.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "daemon/log/log.h"
#include "tests/bench/scripted_bench.h"

namespace endgate::tests {
namespace {

using namespace std::chrono_literals;
using analysis::BreakOff;
using ::testing::HasSubstr;

TEST_F(BenchTest, SendsMotorOffBeforeAnythingElse) {
  connect();
  until_ready();
  ASSERT_FALSE(peer.asked.empty());
  EXPECT_TRUE(peer.asked[0].writes(kRelay, 0));
}

TEST_F(BenchTest, ClaimsTheBenchAndMakesItSafeAfterConnecting) {
  peer.holding[kOwner] = 0;
  peer.holding[kSupply] = 13'500;  // what a dead predecessor left behind
  peer.holding[kVent] = 0;
  connect();
  until_ready();
  EXPECT_EQ(peer.holding[kOwner], definition.owner_word);
  EXPECT_EQ(peer.holding[kSupply], 0);
  EXPECT_EQ(peer.holding[kVent], 1);
}

// Behind a gateway the register of that address in another unit belongs to somebody else.
TEST_F(BenchTest, ReadsAndWritesTheOwnerWordInItsOwnUnit) {
  definition.actuators[0].unit_id = 9;
  peer.holding[kOwner] = 0;
  connect();
  until_ready();
  bool done = false;
  bench->shut_down([&] { done = true; });
  until([&] { return done; });
  EXPECT_GT(count_writes(kOwner), 1u);
  for (const Ask& ask : peer.asked)
    EXPECT_EQ(ask.unit, ask.function != 4 && ask.address == kOwner ? 9 : 1);
}

TEST_F(BenchTest, NeverTakesABenchThatAnotherOneHolds) {
  peer.holding[kOwner] = 0x0007;
  connect();
  until([this] { return !alarms.empty(); });
  for (int i = 0; i < 100; ++i) io.run_one_for(5ms);
  EXPECT_EQ(bench->live().condition, BenchCondition::connecting);
  EXPECT_THAT(bench->live().condition_text, HasSubstr("held by owner word 7"));
  EXPECT_EQ(count_writes(kOwner), 0u);
  ASSERT_TRUE(bench->start_refused(model));
  EXPECT_EQ(bench->start_refused(model)->code, "B-202");
  peer.holding[kOwner] = 0;
  until_ready();
}

// Off is sent before anybody can know who holds the bench; once that is known, never again.
TEST_F(BenchTest, LeavesTheMotorOfABenchThatAnotherOneHoldsAlone) {
  peer.holding[kOwner] = 0x0007;
  connect();
  until([this] { return !alarms.empty(); });
  peer.holding[kRelay] = 1;  // the other one starts a test
  const std::size_t from = peer.asked.size();
  const auto watched = Steady::now();
  until([&] { return Steady::now() - watched > 600ms; });
  EXPECT_EQ(count_writes(kRelay, from), 0u);
  EXPECT_EQ(bench->live().condition, BenchCondition::connecting) << "its motor is no alarm of ours";
  peer.holding[kOwner] = 0;
  until_ready();
  EXPECT_EQ(peer.holding[kRelay], 0) << "a bench that is taken over is made safe";
}

// A device that takes every word: the last writer wins, and the first one lets go.
TEST_F(BenchTest, EndsItsTestWhenAnotherServiceTakesTheBench) {
  start_and_run_to(3);
  const std::size_t from = peer.asked.size();
  peer.holding[kOwner] = 0x0007;
  until_finished();
  EXPECT_EQ(finished->trace.break_off, BreakOff::actuator_refused);
  EXPECT_EQ(finished->trace.break_off_detail, "another service took the bench while the test ran");
  EXPECT_LT(first([](const Ask& ask) { return ask.writes(kRelay, 0); }, from), peer.asked.size());
  EXPECT_EQ(count_writes(kOwner, from), 0u);
  EXPECT_EQ(peer.holding[kRelay], 0);
  until([this] { return bench->start_refused(model) && bench->is_held_by_other(); });
  EXPECT_EQ(bench->start_refused(model)->code, "B-202");
}

TEST_F(BenchTest, LeavesTheMotorOfTheServiceThatTookTheBenchAloneAsSoonAsItsOwnTestIsMadeSafe) {
  start_and_run_to(3);
  peer.holding[kOwner] = 0x0007;
  until_finished();
  peer.holding[kRelay] = 1;  // the other one starts at once
  const std::size_t from = peer.asked.size();
  const auto watched = Steady::now();
  until([&] { return Steady::now() - watched > 600ms; });
  EXPECT_EQ(count_writes(kRelay, from), 0u);
  EXPECT_EQ(bench->live().condition, BenchCondition::connecting);
}

// An exception answer does not say whose it is: another one may own it after a while.
TEST_F(BenchTest, EndsItsTestWhenItsOwnerWordCannotBeReadForLong) {
  definition.devices[0].transaction_deadline = 100ms;
  model.sequence[2].duration_s = 100;  // warm-up, at ten times real time
  start_and_run_to(2);
  peer.refuse = [](const Ask& ask) { return !ask.is_write() && ask.address == kOwner ? 2 : 0; };
  alarms.clear();
  until_finished();
  EXPECT_EQ(finished->trace.break_off_detail, "whether the bench is still ours could not be read");
  EXPECT_EQ(std::ranges::count(alarms, "B-202"), 1);
  EXPECT_THAT(bench->live().condition_text, HasSubstr("its owner word cannot be read"));
  peer.refuse = nullptr;
  until_ready();
}

TEST_F(BenchTest, OfTwoThatFindTheBenchFreeOneOwnsIt) {
  peer.holding[kOwner] = 0;
  BenchDefinition second = definition;
  second.owner_word = 0x0007;
  Bench other(io, second, {}, BenchEvents{});
  connect();
  other.connect();
  const auto begun = Steady::now();
  until([&] {
    const bool ours = !bench->start_refused(model), theirs = !other.start_refused(model);
    EXPECT_FALSE(ours && theirs);
    return Steady::now() - begun > 2s && (ours || theirs);
  });
  EXPECT_NE(bench->is_held_by_other(), other.is_held_by_other());
}

// Nothing until the device has answered, then why not.
struct TakeOver {
  explicit TakeOver(Bench& bench) {
    bench.take_over("Ada", [answer = answer](const auto& refused) { *answer = refused; });
  }
  using Answer = std::optional<std::optional<StartRefusal>>;
  std::shared_ptr<Answer> answer = std::make_shared<Answer>();
  [[nodiscard]] std::string code() const { return answer->value()->code; }
};

TEST_F(BenchTest, SaysWhyABenchWasNotTakenOver) {
  peer.holding[kOwner] = 0x0007;
  lease_lapsed = true;
  peer.refuse = [](const Ask& ask) { return ask.writes(kOwner, 0) ? 3 : 0; };
  connect();
  until([this] { return !bench->takeover_refused(); });
  const TakeOver take(*bench);
  EXPECT_FALSE(*take.answer) << "the device was not asked yet";
  until([&] { return take.answer->has_value(); });
  EXPECT_EQ(take.code(), "B-219");
  EXPECT_THAT(take.answer->value()->sentence, HasSubstr("was not given free"));
}

TEST_F(BenchTest, TakesOverABenchOnceItsOwnerShowsNoLife) {
  peer.holding[kOwner] = 0x0007;
  connect();
  EXPECT_EQ(TakeOver(*bench).code(), "B-218") << "nobody is known to hold it yet";
  until([this] { return bench->is_held_by_other(); });
  peer.holding[kRelay] = 1;  // its motor runs
  const auto watched = Steady::now();
  until([&] { return Steady::now() - watched > Bench::kNoSignOfLife + 500ms; });
  EXPECT_EQ(TakeOver(*bench).code(), "B-219");
  peer.holding[kRelay] = 0;
  lease_lapsed = true;  // nobody renews it any more
  until([this] { return !bench->takeover_refused(); });
  const TakeOver take(*bench);
  until([&] { return take.answer->has_value(); });
  EXPECT_FALSE(take.answer->value().has_value()) << "taken";
  until_ready();
  EXPECT_EQ(peer.holding[kOwner], definition.owner_word);
}

TEST_F(BenchTest, NeverTakesOverABenchThatCannotTellWhetherItsOwnerLives) {
  definition.interlocks.lease_live.reset();
  definition.interlocks.motor_relay_closed.reset();
  peer.holding[kOwner] = 0x0007;
  connect();
  until([this] { return bench->is_held_by_other(); });
  EXPECT_THAT(bench->takeover_refused()->sentence,
              HasSubstr("set the owner word to 0 at the device"));
  EXPECT_EQ(peer.holding[kOwner], 0x0007);
}

// An exception answer on the lease says nothing: the service that holds the bench may be at work.
TEST_F(BenchTest, NeverTakesOverABenchWhoseLeaseIsNotSaidAnyMore) {
  definition.interlocks.lease_live = BitSource{"io", 4, 500, 3, false};
  peer.refuse = [](const Ask& ask) { return !ask.is_write() && ask.address == 500 ? 2 : 0; };
  peer.holding[kOwner] = 0x0007;
  connect();
  until([this] { return bench->is_held_by_other(); });
  const auto watched = Steady::now();
  until([&] { return Steady::now() - watched > Bench::kNoSignOfLife + 500ms; });
  ASSERT_TRUE(bench->takeover_refused());
  EXPECT_EQ(bench->takeover_refused()->code, "B-219");
}

TEST_F(BenchTest, WatchesAnewWhetherTheOwnerLivesOnceContactWasLost) {
  peer.holding[kOwner] = 0x0007;
  lease_lapsed = true;
  connect();
  until([this] { return !bench->takeover_refused(); });
  peer.drop_connection();
  until([this] { return bench->takeover_refused().has_value(); });
  const auto watched = Steady::now();
  until([&] {
    EXPECT_TRUE(bench->takeover_refused());
    return Steady::now() - watched > 600ms;
  });
}

TEST_F(BenchTest, RunsAWholeTestAndHandsItOver) {
  start_and_run_to(0);
  until_finished();
  EXPECT_EQ(finished->trace.break_off, BreakOff::none) << finished->trace.break_off_detail;
  ASSERT_EQ(finished->trace.steps.size(), model.sequence.size());
  for (const analysis::StepMark& mark : finished->trace.steps)
    EXPECT_EQ(mark.end, analysis::StepEnd::complete) << mark.id;
  EXPECT_GT(finished->trace.channels.at(1).raw.size(), 200u);
  EXPECT_EQ(peer.holding[kRelay], 0);
  EXPECT_EQ(peer.holding[kSupply], 0);
  until_ready();
}

TEST_F(BenchTest, RenewsTheLeaseOnlyFromTheStartToMotorOff) {
  connect();
  until_ready();
  for (int i = 0; i < 100; ++i) io.run_one_for(5ms);
  EXPECT_EQ(count_writes(kLease), 0u);
  bench->start(model);
  until_finished();
  const std::size_t on = first([](const Ask& ask) { return ask.writes(kRelay, 1); });
  const std::size_t off = first([](const Ask& ask) { return ask.writes(kRelay, 0); }, on);
  EXPECT_LT(first([](const Ask& ask) { return ask.address == kLease; }), on);
  EXPECT_GT(count_writes(kLease), 2u);
  EXPECT_EQ(count_writes(kLease, off), 0u);
}

TEST_F(BenchTest, SendsOffAndBreaksOffWhenAChannelIsSilent) {
  start_and_run_to(3);
  const std::size_t before = peer.asked.size();
  flow_has_no_value = true;
  until_finished();
  EXPECT_LT(first([](const Ask& ask) { return ask.writes(kRelay, 0); }, before), peer.asked.size());
  EXPECT_EQ(finished->trace.break_off, BreakOff::silence);
  EXPECT_THAT(finished->trace.break_off_detail, HasSubstr("flow was silent"));
}

TEST_F(BenchTest, WritesOffBeforeAnyFurtherReadWhenALimitTrips) {
  OverLimit limit;
  limit.id = "supply_current_max";
  limit.role = Role::supply_current;
  limit.limit_si = 5;
  definition.over_limits = {limit};
  start_and_run_to(0);
  until_finished();
  ASSERT_TRUE(finished->trace.trip);
  const std::size_t on = first([](const Ask& ask) { return ask.writes(kRelay, 1); });
  // The read that showed the current is the last one before off.
  const std::size_t off = first([](const Ask& ask) { return ask.is_write(); }, on + 1);
  EXPECT_TRUE(peer.asked[off].writes(kRelay, 0) || peer.asked[off].address == kLease);
}

TEST_F(BenchTest, BreaksOffWhenTheCoverOpens) {
  start_and_run_to(3);
  cover_closed = false;
  until_finished();
  EXPECT_EQ(finished->trace.break_off, BreakOff::cover_open);
  until_ready();
  EXPECT_EQ(bench->start_refused(model)->code, "B-212");
}

TEST_F(BenchTest, NamesTheLapsedLeaseWhenTheBenchOpensTheRelay) {
  start_and_run_to(3);
  lease_lapsed = true;
  until_finished();
  EXPECT_EQ(finished->trace.break_off, BreakOff::lease_lost);
}

TEST_F(BenchTest, BreaksOffWhenTheRelayDoesNotClose) {
  relay_stays_open = true;
  model.start_within_s = 5;  // longer than the relay may take
  start_and_run_to(0);
  until_finished();
  EXPECT_EQ(finished->trace.break_off, BreakOff::actuator_refused);
}

TEST_F(BenchTest, ReportsAMotorThatDoesNotObeyAndRepeatsOff) {
  start_and_run_to(3);
  relay_is_welded = true;
  bench->stop("operator 07");
  until([this] { return bench->live().condition == BenchCondition::motor_unknown; });
  const std::size_t before = count_writes(kRelay);
  until([&] { return count_writes(kRelay) > before + 3; });
  EXPECT_THAT(bench->live().condition_text, HasSubstr("Press the stop button"));
  EXPECT_EQ(bench->live().condition_code, "B-101");
  EXPECT_FALSE(bench->clear_motor_alarm("operator 07"));
  EXPECT_EQ(bench->live().condition, BenchCondition::motor_unknown);
  relay_is_welded = false;
  until_finished();
  EXPECT_EQ(finished->trace.break_off, BreakOff::stopped_by_person);
  EXPECT_EQ(bench->live().condition, BenchCondition::motor_unknown);  // latched
  EXPECT_EQ(bench->start_refused(model)->code, "B-101");
  EXPECT_TRUE(bench->clear_motor_alarm("operator 07"));
  until_ready();
}

// What was read back before the bench was lost says nothing about its motor now.
TEST_F(BenchTest, ClearsNoMotorAlarmByAnOldReadBack) {
  start_and_run_to(3);
  relay_is_welded = true;
  bench->stop("operator 07");
  until([this] { return bench->live().condition == BenchCondition::motor_unknown; });
  relay_is_welded = false;
  until([this] { return bench->motor_is_off(); });
  peer.take_no_more_connections();
  peer.drop_connection();
  until([this] { return std::ranges::count(alarms, "B-201") > 0; });
  EXPECT_FALSE(bench->clear_motor_alarm("operator 07"));
}

TEST_F(BenchTest, HoldsTheMotorAlarmOfAnEarlierServiceUntilAPersonClearsIt) {
  connect();
  bench->latch_motor_alarm();
  EXPECT_FALSE(bench->clear_motor_alarm("operator 07")) << "nothing is read back yet";
  until([this] { return bench->motor_is_off(); });
  EXPECT_EQ(bench->start_refused(model)->code, "B-101");
  EXPECT_TRUE(bench->clear_motor_alarm("operator 07"));
  until_ready();
}

// Motor off and a verdict say nothing about what still stands in the receiver.
TEST_F(BenchTest, SaysThatAUnitThatWasNotVentedMayBeUnderPressureAndStartsNothingOnIt) {
  start_and_run_to(5);  // 400 kPa
  vent_is_blocked = true;
  bench->stop("operator 07");
  until([this] { return bench->live().making_safe; });
  until_finished();
  until_ready();
  EXPECT_TRUE(bench->live().may_be_under_pressure);
  EXPECT_FALSE(bench->live().making_safe);
  ASSERT_TRUE(bench->start_refused(model));
  EXPECT_EQ(bench->start_refused(model)->code, "B-217");
  vent_is_blocked = false;
  until([this] { return !bench->live().may_be_under_pressure; });
  EXPECT_FALSE(bench->start_refused(model));
}

TEST_F(BenchTest, StartsOnAUnitThatAPersonSaysIsVented) {
  pressure_pa = 400e3;
  vent_is_blocked = true;
  connect([this] { bench->latch_pressure(); });
  until_ready();
  ASSERT_TRUE(bench->start_refused(model));
  EXPECT_EQ(bench->start_refused(model)->code, "B-217");
  bench->clear_pressure("operator 07");
  EXPECT_FALSE(bench->start_refused(model));
}

TEST_F(BenchTest, AWholeTestLeavesNoDoubtAboutThePressure) {
  start_and_run_to(0);
  until_finished();
  until_ready();
  EXPECT_FALSE(bench->live().may_be_under_pressure);
}

TEST_F(BenchTest, BreaksOffAndSendsOffFirstWhenTheConnectionIsLost) {
  start_and_run_to(3);
  peer.drop_connection();
  until_finished();
  EXPECT_EQ(finished->trace.break_off, BreakOff::lost_link);
  const auto again = first([](const Ask& ask) { return ask.connection == 2; });
  ASSERT_LT(again, peer.asked.size());
  EXPECT_TRUE(peer.asked[again].writes(kRelay, 0));
  EXPECT_EQ(first([](const Ask& ask) { return ask.writes(kRelay, 1); }, again), peer.asked.size());
  until_ready();
}

TEST_F(BenchTest, SendsNothingToAClosedLinkAndSaysOnceWhyOffFailed) {
  start_and_run_to(3);
  testing::internal::CaptureStderr();
  start_log("error");
  peer.take_no_more_connections();
  peer.drop_connection();
  const auto lost = Steady::now();
  until([&] { return finished && Steady::now() - lost > 600ms; });
  stop_log();
  const std::string said = testing::internal::GetCapturedStderr();
  std::size_t lines = 0;
  for (std::size_t at = 0; (at = said.find("motor off", at)) != std::string::npos; ++at) ++lines;
  EXPECT_LE(lines, 1u) << said;
}

TEST_F(BenchTest, SaysOnceThatTheDeviceRefusesOffAndRepeatsItAllTheSame) {
  start_and_run_to(3);
  testing::internal::CaptureStderr();
  start_log("error");
  peer.refuse = [](const Ask& ask) { return ask.writes(kRelay, 0) ? 4 : 0; };
  const std::size_t before = count_writes(kRelay);
  bench->stop("operator 07");
  until([&] { return count_writes(kRelay) > before + 5; });
  stop_log();
  const std::string said = testing::internal::GetCapturedStderr();
  EXPECT_NE(said.find("motor off"), std::string::npos);
  EXPECT_EQ(said.find("motor off"), said.rfind("motor off")) << said;
}

TEST_F(BenchTest, ReadsBackOnALineThatIsSlowerThanOffIsRepeated) {
  definition.devices[0].transaction_deadline = 2s;
  definition.actuators[kRelay - 100].follow_within = 10s;
  start_and_run_to(3);
  peer.delay = [](const Ask& ask) { return ask.writes(kRelay, 0) ? 250ms : 0ms; };
  bench->stop("operator 07");
  until_finished();
  until_ready();
}

TEST_F(BenchTest, CallsADeviceThatStopsAnsweringSilent) {
  start_and_run_to(3);
  peer.mute = [this](const Ask&) { return peer.connections == 1; };
  until_finished();
  EXPECT_EQ(finished->trace.break_off, BreakOff::silence);
  EXPECT_THAT(finished->trace.break_off_detail,
              testing::StartsWith("the bench did not answer: no whole answer within "))
      << "it becomes a sentence: no id of a device in front";
}

TEST_F(BenchTest, BreaksOffWhenTheCounterFreezes) {
  start_and_run_to(3);
  const double passed_s = std::chrono::duration<double>(Steady::now() - born).count();
  const auto frozen = static_cast<std::uint32_t>(passed_s * kRate * 1000);
  peer.tamper = [frozen](const Ask& ask, ScriptedModbusPeer::Bytes& bytes) {
    if (ask.function != 4 || ask.address != 0) return;
    for (std::size_t i = 0; i < 4; ++i)
      bytes[9 + i] = static_cast<std::uint8_t>(frozen >> (24 - 8 * i));
  };
  until_finished();
  EXPECT_EQ(finished->trace.break_off, BreakOff::clock_sick);
}

TEST_F(BenchTest, NamesTheCommandTheDeviceRefused) {
  peer.refuse = [](const Ask& ask) { return ask.writes(kVent, 0) ? 4 : 0; };
  start_and_run_to(0);
  until_finished();
  EXPECT_EQ(finished->trace.break_off, BreakOff::actuator_refused);
  EXPECT_THAT(finished->trace.break_off_detail, HasSubstr("vent"));
  EXPECT_EQ(count_motor_on(), 0u) << "the relay was queued behind the vent";
}

TEST_F(BenchTest, NeverSwitchesOnBehindTheOffOfAStopWithinTheStart) {
  connect();
  until_ready();
  bench->start(model);
  bench->stop("operator 07");
  until_finished();
  EXPECT_EQ(count_motor_on(), 0u);
  until_ready();
}

TEST_F(BenchTest, StopsForAPersonAtAnyTime) {
  start_and_run_to(4);
  bench->stop("operator 07");
  until_finished();
  EXPECT_EQ(finished->trace.break_off, BreakOff::stopped_by_person);
  EXPECT_EQ(finished->trace.break_off_detail, "stopped by operator 07");
}

// A device with holes answers "illegal data address" to every request that touches one.
TEST_F(BenchTest, ConnectsADeviceWithHolesWhoseFileSaysSo) {
  definition.devices[0].largest_gap = 0;
  definition.devices[0].most_registers = 4;
  peer.refuse = [](const Ask& ask) {
    const bool touches_hole = ask.function == 4 && ask.address <= 8 && ask.address + ask.count > 8;
    return touches_hole || ask.count > 4 ? 2 : 0;
  };
  connect();
  until_ready();
  EXPECT_GT(std::ranges::count_if(peer.asked, [](const Ask& ask) { return ask.address == 9; }), 0);
}

TEST_F(BenchTest, IsNotReadyBeforeEveryChannelIsHeard) {
  flow_has_no_value = true;
  connect();
  until([this] { return bench->live().condition_code == "B-214"; });
  EXPECT_THAT(bench->live().condition_text, HasSubstr("flow"));
  flow_has_no_value = false;
  until_ready();
}

TEST_F(BenchTest, ShutsDownWithTheMotorOffAndTheOwnerWordGivenBack) {
  start_and_run_to(3);
  bool done = false;
  bench->shut_down([&] { done = true; });
  until([&] { return done; });
  ASSERT_TRUE(finished);
  EXPECT_EQ(peer.holding[kRelay], 0);
  EXPECT_EQ(peer.holding[kOwner], 0);
}

// A restart of the service is not held against the person at the bench.
// Its word stands at the device before the bench is its own.
TEST_F(BenchTest, GivesBackABenchThatItWasAboutToClaim) {
  for (const std::uint16_t word : {definition.owner_word, std::uint16_t{0x0007}}) {
    definition.devices[0].transaction_deadline = 2s;
    peer.holding[kOwner] = 0;
    connect();
    until([this] { return peer.holding[kOwner] == definition.owner_word; });
    peer.holding[kOwner] = word;
    bool down = false;
    bench->shut_down([&] { down = true; });
    until([&] { return down; });
    EXPECT_EQ(peer.holding[kOwner], word == 0x0007 ? 0x0007 : 0) << "another's is left alone";
  }
}

TEST_F(BenchTest, AShutDownIsNotAStopByAPerson) {
  start_and_run_to(3);
  bool done = false;
  bench->shut_down([&] { done = true; });
  until([&] { return done; });
  ASSERT_TRUE(finished);
  EXPECT_EQ(finished->trace.break_off, BreakOff::ended_by_service);
  EXPECT_EQ(finished->trace.break_off_detail, "the service was shut down");
}

TEST_F(BenchTest, RefusesAModelWithAStepItCannotDrive) {
  connect();
  until_ready();
  model.sequence[1].kind = analysis::StepKind::coast_down;
  EXPECT_EQ(bench->start_refused(model)->code, "B-231");
  model = made_model();
  model.supply_set_v = 48;
  EXPECT_EQ(bench->start_refused(model)->code, "B-232");
}

}  // namespace
}  // namespace endgate::tests
