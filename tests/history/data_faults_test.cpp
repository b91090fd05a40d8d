// Good tests with spoiled data: what may be believed of them, and who is accused.
//
// `endgate_data_faults` prints the whole table; analysis/README.md keeps it.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <atomic>
#include <thread>

#include "fixtures/history/campaign.h"
#include "fixtures/history/data_fault_table.h"

namespace endgate::history {
namespace {

using analysis::Role;
using ::testing::HasSubstr;
using ::testing::StartsWith;

// A seed on which no check was tuned.
struct GoodTest {
  TestedUnit unit;
  analysis::Context context;
};
const GoodTest& good() {
  static const GoodTest made = [] {
    const Scenario scenario = load_scenario(std::string(ENDGATE_SOURCE_DIR) + "/fixtures/scenario");
    CampaignOptions options;
    options.units = 1;
    options.seed = 40417;
    options.models = {"P1-60-12"};
    options.fresh_bench = true;
    return GoodTest{run_campaign(scenario, options).front(), scenario.context("north", "P1-60-12")};
  }();
  return made;
}

SpoiledTest spoiled(const DataFault& fault) {
  return spoil(good().unit.test.trace, good().context, good().unit.evaluation, fault);
}

TEST(DataFaults, TheGoodTestItselfIsNotVoid) {
  EXPECT_EQ(good().unit.evaluation.grade.verdict, analysis::Verdict::pass);
  for (const analysis::ChannelHealth& health : good().unit.evaluation.health)
    EXPECT_EQ(health.state, analysis::HealthState::good) << health.channel_id << health.detail;
}

// Twenty kinds, five severities, every channel: no metric moves by half its u in silence, but for
// what kNotSeen names.
TEST(DataFaults, NoneMovesAMetricInSilenceUnlessNothingCouldTell) {
  const std::vector<DataFault> faults = every_data_fault(good().context);
  ASSERT_GT(faults.size(), 900U);
  std::vector<SpoiledTest> tests(faults.size());
  std::atomic<std::size_t> next{0};
  const auto work = [&] {
    for (std::size_t i = next++; i < faults.size(); i = next++) tests[i] = spoiled(faults[i]);
  };
  {
    const std::jthread other(work);
    work();
  }
  const auto voided = std::ranges::count(tests, SpoiledOutcome::void_, &SpoiledTest::outcome);
  EXPECT_GT(voided, 300);
  for (const SpoiledTest& test : tests) {
    if (test.outcome == SpoiledOutcome::void_) {
      EXPECT_THAT(test.code, StartsWith("channel_")) << test.sentence;
      EXPECT_THAT(test.sentence, HasSubstr("The unit was not judged. ")) << "no next step";
    }
    if (test.outcome == SpoiledOutcome::hidden && not_seen(test.fault) == nullptr)
      ADD_FAILURE() << kDataFaults[static_cast<std::size_t>(test.fault.kind)].name << " "
                    << test.fault.size << " of " << test.channel << " moves " << test.metric
                    << " by " << test.move_in_u << " u";
  }
  std::printf("%s", table_of(tests).c_str());
}

struct Accused {
  const char* name;
  DataFault fault;
  const char* code;
  const char* channel;
};
void PrintTo(const Accused& accused, std::ostream* out) { *out << accused.name; }

class Accuses : public ::testing::TestWithParam<Accused> {};

TEST_P(Accuses, TheSpoiledChannelByName) {
  const SpoiledTest test = spoiled(GetParam().fault);
  EXPECT_EQ(test.outcome, SpoiledOutcome::void_);
  EXPECT_EQ(test.code, GetParam().code) << test.sentence;
  EXPECT_EQ(test.accused, GetParam().channel) << test.sentence;
}
INSTANTIATE_TEST_SUITE_P(
    Checks, Accuses,
    ::testing::Values(
        Accused{"spikes", {DataFaultKind::spikes, 100, Role::speed}, "channel_spiky", "speed"},
        Accused{"frozen_slow_channel",
                {DataFaultKind::stuck, 100, Role::head_temperature},
                "channel_stuck",
                "head_temperature"},
        Accused{"lost_bits",
                {DataFaultKind::coarse_counts, 128, Role::ambient_temperature},
                "channel_stuck",
                "ambient_temperature"},
        Accused{"repeated_samples",
                {DataFaultKind::repeated_samples, 16, Role::case_temperature},
                "channel_stuck",
                "case_temperature"},
        Accused{"every_second_sample_lost",
                {DataFaultKind::no_value, 0.5, Role::seal_pressure},
                "channel_no_value",
                "seal_pressure"},
        Accused{"hum_at_rest", {DataFaultKind::mains_hum, 30, Role::flow}, "channel_noisy", "flow"},
        Accused{"flow_that_is_not_zero_at_rest",
                {DataFaultKind::offset, 10, Role::flow},
                "channel_zero_shift",
                "flow"},
        Accused{"pressure_whose_zero_drifts",
                {DataFaultKind::drifting_zero, 30, Role::discharge_pressure},
                "channel_zero_shift",
                "discharge_pressure"},
        Accused{"head_that_jumps",
                {DataFaultKind::gain_step, 0.01, Role::head_temperature},
                "channel_jumped",
                "head_temperature"},
        Accused{"wrapped_seal_pressure",
                {DataFaultKind::wrapped_counter, 14, Role::seal_pressure},
                "channel_jumped",
                "seal_pressure"},
        Accused{"crossed_sensors_of_room_and_case",
                {DataFaultKind::swapped_channels, 0},
                "channel_implausible",
                "ambient_temperature"},
        Accused{"late_speed",
                {DataFaultKind::late_channel, 0.5, Role::speed},
                "channel_implausible",
                "speed"},
        Accused{"slow_meter",
                {DataFaultKind::slow_sensor, 1, Role::flow},
                "channel_implausible",
                "flow"},
        Accused{"supply_that_steps",
                {DataFaultKind::supply_step, 0.03},
                "channel_implausible",
                "supply_voltage"}),
    [](const auto& info) { return std::string(info.param.name); });

}  // namespace
}  // namespace endgate::history
