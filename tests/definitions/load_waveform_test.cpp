// A bench that samples the motor's current fast, and a model whose motor is known.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <fstream>
#include <sstream>

#include "daemon/definitions/fit.h"
#include "daemon/definitions/origins.h"
#include "tests/definitions/scenario_text.h"

namespace endgate::daemon {
namespace {

using testing::Contains;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

const std::string kBench = "benches/north.toml", kModel = "models/P2-120-24.toml";

std::string addition(const std::string& name) {
  std::ifstream in(std::filesystem::path(ENDGATE_SOURCE_DIR) / "fixtures/examples/waveform" / name);
  std::stringstream text;
  text << in.rdbuf();
  return text.str();
}

std::string listening() { return scenario_text(kBench) + addition("bench.toml"); }
std::string known_motor() { return scenario_text(kModel) + addition("model.toml"); }

std::string without_tacho(std::string text) {
  const std::size_t role = text.find("role = \"speed\"");
  const std::size_t begin = text.rfind("[[channel]]", role);
  return text.erase(begin, text.find("[[channel]]", role) - begin);
}

std::vector<std::string> waveform_errors_with(std::string_view from, std::string_view to) {
  return texts_of(load_bench(with(listening(), from, to), kBench));
}

TEST(LoadWaveform, TheExampleIsReadAndSaysWhereItComesFrom) {
  const Loaded<BenchDefinition> loaded = load_bench(listening(), kBench);
  ASSERT_THAT(texts_of(loaded), IsEmpty());
  const auto& bench = std::get<BenchDefinition>(loaded);
  const WaveformDefinition& waveform = bench.current_waveform.value();
  EXPECT_EQ(waveform.source.column, 0);
  EXPECT_EQ(waveform.facts.scale, 0.005);
  EXPECT_EQ(waveform.facts.burst_s, 0.5);
  EXPECT_THAT(
      origins_of(bench),
      Contains("motor_current: waveform (sample_stream 127.0.0.1:15022), column 0, i16; two "
               "bursts of 0.5 s in every hold"));
}

TEST(LoadWaveform, WhatIsWrongIsTold) {
  EXPECT_THAT(waveform_errors_with("device = \"waveform\"\ncolumn = 0\ntype = \"i16\"",
                                   "device = \"io\"\nfunction = 4\naddress = 6\ntype = \"i16\""),
              ElementsAre(HasSubstr("current_waveform.device: expected a device with link = "
                                    "\"sample_stream\" or \"modbus_capture\"")));
  EXPECT_THAT(waveform_errors_with("id = \"motor_current\"", "id = \"flow\""),
              ElementsAre(HasSubstr("an id that no channel has, found \"flow\" again")));
  EXPECT_THAT(waveform_errors_with("burst_s = 0.5", "burst_s = 60"),
              ElementsAre(HasSubstr("current_waveform.burst_s")));
  EXPECT_THAT(waveform_errors_with("range_max_si = 160", "range_max_si = -200"),
              ElementsAre(HasSubstr("a number above range_min_si")));
}

std::string capturing() { return scenario_text(kBench) + addition("bench_capture.toml"); }

std::vector<std::string> capture_errors_with(std::string_view from, std::string_view to) {
  return texts_of(load_bench(with(capturing(), from, to), kBench));
}

TEST(LoadWaveform, ACaptureOfRegistersIsReadAndSaysWhereItComesFrom) {
  const Loaded<BenchDefinition> loaded = load_bench(capturing(), kBench);
  ASSERT_THAT(texts_of(loaded), IsEmpty());
  const auto& bench = std::get<BenchDefinition>(loaded);
  const CaptureDefinition& capture = bench.devices.at(1).capture.value();
  EXPECT_EQ(capture.trigger_address, 111);
  EXPECT_EQ(capture.ready.address, 19);
  EXPECT_FALSE(capture.ready_bit);
  EXPECT_EQ(capture.time.value().address, 20);
  EXPECT_EQ(capture.samples.address, 1000);
  EXPECT_EQ(capture.count, 10000);
  EXPECT_EQ(capture.period_s, 5e-5);
  EXPECT_THAT(
      origins_of(bench),
      Contains("motor_current: waveform (modbus_capture 127.0.0.1:15020), 10000 samples from "
               "register 1000 on, i16, at a trigger in register 111; two bursts of 0.5 s in "
               "every hold"));
}

TEST(LoadWaveform, WhatIsWrongWithACaptureIsTold) {
  EXPECT_THAT(capture_errors_with("trigger = { address = 111, value = 1 }", ""),
              Contains(HasSubstr("trigger: expected a table")));
  EXPECT_THAT(capture_errors_with("count = 10000", "count = 5000"),
              ElementsAre(HasSubstr("burst_s: expected at most what one capture")));
  EXPECT_THAT(
      capture_errors_with("address = 1000, count = 10000", "address = 60000, count = 10000"),
      ElementsAre(HasSubstr("samples that end at register 65535 or before")));
  EXPECT_THAT(capture_errors_with("column = 0\ntype = \"i16\"", "column = 0\ntype = \"f32\""),
              ElementsAre(HasSubstr("the type of the samples of its device")));
  EXPECT_THAT(capture_errors_with("device = \"io\"\nfunction = 4\naddress = 6\ntype = \"i16\"",
                                  "device = \"waveform\"\ncolumn = 0\ntype = \"i16\""),
              Contains(HasSubstr("what is captured at a trigger has gaps")));
}

TEST(LoadWaveform, OnlyABenchThatHasOneMayLackATacho) {
  EXPECT_THAT(texts_of(load_bench(without_tacho(listening()), kBench)), IsEmpty());
  EXPECT_THAT(texts_of(load_bench(without_tacho(scenario_text(kBench)), kBench)),
              Contains(HasSubstr("a [[channel]] with role \"speed\"")));
}

TEST(LoadWaveform, WithoutATachoTheModelMustKnowItsMotor) {
  const auto bench = std::get<BenchDefinition>(load_bench(without_tacho(listening()), kBench));
  auto known = std::get<ModelDefinition>(load_model(known_motor(), kModel));
  auto unknown = std::get<ModelDefinition>(load_model(scenario_text(kModel), kModel));
  EXPECT_EQ(known.ripple.commutations_per_rev, 12);
  known.over_limits.clear();  // those of the speed need a tacho
  unknown.over_limits.clear();
  EXPECT_THAT(misfits_of(bench, known),
              ElementsAre(HasSubstr("step \"ramp\" needs a channel with role speed")));
  for (ModelDefinition* model : {&known, &unknown})
    std::erase_if(model->sequence, [](const StepDefinition& step) { return step.id == "ramp"; });
  EXPECT_THAT(misfits_of(bench, known), IsEmpty());
  EXPECT_THAT(misfits_of(bench, unknown),
              ElementsAre(HasSubstr("the model needs a table [ripple]")));
}

TEST(LoadWaveform, AModelThatAsksForItsMetricsMustKnowItsMotor) {
  const std::string from = "\"seal_leak\",\n", to = "\"seal_leak\", \"ripple_speed_400\",\n";
  EXPECT_THAT(texts_of(load_model(with(known_motor(), from, to), kModel)), IsEmpty());
  EXPECT_THAT(texts_of(load_model(with(scenario_text(kModel), from, to), kModel)),
              ElementsAre(HasSubstr("a table [ripple] for \"ripple_speed_400\"")));
  EXPECT_THAT(
      texts_of(load_model(with(known_motor(), "fastest_rev_s = 75", "fastest_rev_s = 5"), kModel)),
      ElementsAre(HasSubstr("ripple.fastest_rev_s: expected a number above")));
}

}  // namespace
}  // namespace endgate::daemon
