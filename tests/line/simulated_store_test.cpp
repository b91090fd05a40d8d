// Can what was simulated and what was measured come to lie in one store?

#include <gmock/gmock.h>

#include "daemon/line/accept_text.h"
#include "daemon/line/configuration.h"
#include "tests/line/line_plant.h"
#include "tests/support/made_facts.h"

namespace endgate::test {
namespace {

using testing::HasSubstr;

class SimulatedStore : public ::testing::Test {
 protected:
  SimulatedStore() {
    fs::copy(fs::path(ENDGATE_SOURCE_DIR) / "fixtures/scenario", config(),
             fs::copy_options::recursive);
  }
  void make_real(const char* bench) {
    replace_value(config() / "benches" / (std::string(bench) + ".toml"), "simulated", "false");
  }
  void keep_test(bool simulated) {
    schema::StoreWriter writer(data());
    schema::Record record;
    record.start = made_start("QH1", 1);
    record.start_position = writer.append(record.start);
    record.verdict = "pass";
    record.simulated = simulated;
    writer.append(record, std::nullopt);
  }
  [[nodiscard]] fs::path config() const { return folder_.path() / "config"; }
  [[nodiscard]] fs::path data() const { return folder_.path() / "data"; }
  [[nodiscard]] std::shared_ptr<const daemon::Configuration> read() {
    accept_all(config(), data());
    return daemon::read_accepted(config(), schema::StoreReader(data()));
  }

 private:
  TemporaryFolder folder_;
};

TEST_F(SimulatedStore, RefusesABenchThatIsNotSimulatedAndSaysWhy) {
  make_real("north");
  make_real("south");
  keep_test(true);
  const auto configuration = read();
  EXPECT_TRUE(configuration->benches.empty());
  EXPECT_THAT(configuration->bench_ids(), testing::UnorderedElementsAre("north", "south"));
  EXPECT_THAT(configuration->not_ready.at("north"), HasSubstr("the store holds simulated tests"));
}

TEST_F(SimulatedStore, IsNotMadeOutOfAStoreOfRealTests) {
  keep_test(false);
  const auto configuration = read();
  EXPECT_TRUE(configuration->benches.empty());
  EXPECT_THAT(configuration->not_ready.at("south"),
              HasSubstr("the store holds tests of real units"));
}

TEST_F(SimulatedStore, IsNotMadeOutOfAStoreOfRealTestsByABenchBeside) {
  make_real("north");
  keep_test(false);
  const auto configuration = read();
  EXPECT_TRUE(configuration->benches.contains("north")) << "it goes on as before";
  EXPECT_FALSE(configuration->benches.contains("south"));
}

TEST_F(SimulatedStore, IsMadeByASimulatedBenchAndThenTheRealOneBesideIsRefused) {
  make_real("north");
  const auto configuration = read();
  EXPECT_THAT(configuration->not_ready.at("north"), HasSubstr("beside a simulated bench"));
  EXPECT_TRUE(configuration->benches.contains("south"));
}

TEST_F(SimulatedStore, TakesSimulatedBenchesAndARealStoreTakesRealOnes) {
  keep_test(true);
  EXPECT_EQ(read()->benches.size(), 2U);
  fs::remove_all(data());
  make_real("north");
  make_real("south");
  keep_test(false);
  EXPECT_EQ(read()->benches.size(), 2U);
}

}  // namespace
}  // namespace endgate::test
