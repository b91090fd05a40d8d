// Is a made history a store like any other?

#include "fixtures/history/plant_history.h"

#include <gtest/gtest.h>

#include <algorithm>

#include "fixtures/history/revised_limit.h"
#include "schema/store.h"
#include "schema/verify.h"
#include "tests/support/temporary_folder.h"

namespace endgate::history {
namespace {

const std::filesystem::path kScenario = std::string(ENDGATE_SOURCE_DIR) + "/fixtures/scenario";

std::vector<schema::Record> records_made(const std::filesystem::path& folder, int threads) {
  const PlanOptions options{.seed = 4, .batches = 12, .units_per_batch = 1};
  make_plant_history(kScenario, folder, options, threads, [](const HistoryProgress&) {});
  std::vector<schema::Record> records;
  schema::StoreReader(folder).for_each_record([&](const schema::StoredRecord& kept) {
    records.push_back(kept.record);
    return true;
  });
  return records;
}

// The bench page of the demo has something to list, and no alarm stops its lines.
void expect_checked_benches(const std::filesystem::path& folder,
                            const std::vector<schema::Record>& records) {
  const schema::StoreReader store(folder);
  const auto references = std::ranges::count_if(records, [](const schema::Record& record) {
    return record.start.purpose == "reference" && record.verdict != "void";
  });
  std::size_t checks = 0;
  for (const char* bench : {"north", "south"}) checks += store.bench_checks(bench).size();
  EXPECT_EQ(checks, static_cast<std::size_t>(references));
  EXPECT_GE(checks, 20U);
  EXPECT_TRUE(store.open_alarms().empty());
}

TEST(PlantHistory, VerifiesIsMarkedSimulatedAndIsTheSameOnAnyNumberOfThreads) {
  const test::TemporaryFolder one, two;
  const auto records = records_made(one.path() / "store", 1);
  const auto again = records_made(two.path() / "store", 2);
  const schema::VerifyResult verified = schema::verify(one.path() / "store", true);
  EXPECT_FALSE(verified.first_bad) << verified.what;
  EXPECT_EQ(verified.traces, static_cast<std::int64_t>(records.size()));
  ASSERT_EQ(records.size(), again.size());
  for (std::size_t i = 0; i < records.size(); ++i) {
    EXPECT_TRUE(records[i].simulated);
    EXPECT_EQ(records[i].trace_sha256, again[i].trace_sha256) << records[i].start.serial;
    EXPECT_EQ(records[i].verdict, again[i].verdict);
  }
  expect_checked_benches(one.path() / "store", records);
}

TEST(PlantHistory, RaisesTheLowerLimitOfDeliveryAt400ByOnePercent) {
  const std::string text = "metric = \"fad_400\"\nunit = \"L/min\"\nlower = 50.0\n";
  EXPECT_EQ(revised_limit(text), "metric = \"fad_400\"\nunit = \"L/min\"\nlower = 50.5\n");
  EXPECT_THROW((void)revised_limit("metric = \"fad_0\""), std::runtime_error);
}

}  // namespace
}  // namespace endgate::history
