// A bench file that plays a recorded run: the example, and what is wrong with files like it.

#include <gmock/gmock.h>

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

std::string recorded_text() {
  std::ifstream in(std::filesystem::path(ENDGATE_SOURCE_DIR) /
                   "fixtures/examples/benches/recorded_run.toml");
  std::stringstream text;
  text << in.rdbuf();
  return text.str();
}

BenchDefinition recorded_bench(const std::string& text = recorded_text()) {
  const Loaded<BenchDefinition> result = load_bench(text, "plant/benches/recorded_run.toml");
  EXPECT_THAT(texts_of(result), IsEmpty());
  return std::get<BenchDefinition>(result);
}

std::vector<std::string> recorded_errors(const std::string& text) {
  return texts_of(load_bench(text, "b"));
}

TEST(LoadRecordedRun, ColumnsAreNumberedInTheOrderOfTheFileAndSoAreCommands) {
  const BenchDefinition bench = recorded_bench();
  const DeviceDefinition& run = bench.devices.at(0);
  EXPECT_EQ(run.recording.file, "plant/benches/run.csv") << "beside the file that names it";
  EXPECT_EQ(run.recording.columns.at(0), "discharge_pressure");
  EXPECT_EQ(run.recording.columns.at(1), "flow");
  EXPECT_EQ(bench.channels.at(1).source.address, 4);
  EXPECT_EQ(bench.channels.at(1).source.type, RegisterType::f64);
  EXPECT_EQ(run.commands.at(1), "supply_voltage");
  EXPECT_EQ(bench.actuators.at(1).address, 1);
  EXPECT_EQ(bench.clock.value().counter.function, 3);
  EXPECT_THAT(origins_of(bench),
              Contains(HasSubstr("flow: run (recorded_run plant/benches/run.csv at rate 1), column "
                                 "\"flow\"")));
  EXPECT_THAT(targets_of(bench),
              Contains(HasSubstr("which follows its column \"set_motor_relay\"")));
  EXPECT_THAT(not_promised_of(bench), ElementsAre(HasSubstr("nothing is measured")));
}

TEST(LoadRecordedRun, ItsRateIsThatOfTheClock) {
  EXPECT_EQ(recorded_bench(with_key(recorded_text(), "rate", "4")).clock.value().declared_rate, 4);
  EXPECT_THAT(recorded_errors(with(with_key(recorded_text(), "rate", "4"), "[clock]", "[clocks]")),
              Contains(HasSubstr("clock: expected the time of the run")));
}

TEST(LoadRecordedRun, IsSimulatedOrRefused) {
  for (const char* said : {"false", ""})
    EXPECT_THAT(recorded_errors(with_key(recorded_text(), "simulated", said)),
                Contains(HasSubstr("simulated: expected true: a recorded run")))
        << said;
}

TEST(LoadRecordedRun, CommandsNothingReal) {
  const std::string beside =
      with(recorded_text(), "[clock]",
           "[[device]]\nid = \"io\"\nlink = \"modbus_tcp\"\nhost = \"127.0.0.1\"\n\n[clock]");
  EXPECT_THAT(recorded_errors(beside),
              Contains(HasSubstr("device: expected a recorded run alone")));
}

TEST(LoadRecordedRun, TwoChannelsOfOneColumnAreWrong) {
  EXPECT_THAT(recorded_errors(
                  with(recorded_text(), "column = \"flow\"", "column = \"discharge_pressure\"")),
              Contains(HasSubstr("\"flow\" reads what \"discharge_pressure\" reads")));
}

}  // namespace
}  // namespace endgate::daemon
