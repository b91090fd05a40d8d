// Does a service start as quickly after ten years as on its first day?  Pages read are counted.

#include <gtest/gtest.h>

#include "schema/trend_file.h"
#include "tests/line/line_plant.h"
#include "tests/support/made_facts.h"
#include "tests/support/shim_vfs.h"

namespace endgate::test {
namespace {

// The plant's one bench is "north"; nothing answers on its wire, and nothing has to.
class StartUp : public ::testing::Test {
 protected:
  StartUp() { shim_.sync_really = false; }

  // Pages that one whole start and end of the service reads, of a store with so many tests.
  int reads_after(int tests, const std::string& bench) {
    const TemporaryFolder folder;
    write_config(folder.path() / "config", 1, 1);
    accept_all(folder.path() / "config", folder.path() / "data");
    fill(folder.path() / "data", tests, bench);
    shim_.reset_counts();
    daemon::ServiceDefinition service;
    service.data_directory = folder.path() / "data";
    {
      const daemon::LineService line(service, folder.path() / "config", [] {});
    }
    for (const auto& [file, count] : shim_.reads)
      std::printf("%s: %d reads\n", file.c_str(), count);
    return shim_.all_reads();
  }

 private:
  void fill(const fs::path& data, int tests, const std::string& bench) {
    {
      schema::StoreWriter writer(data);
      for (int i = 0; i < tests; ++i) {
        schema::Record record;
        record.start = made_start("QH" + std::to_string(i));
        record.start.bench = bench;
        record.start_position = writer.append(record.start);
        record.verdict = "pass";
        record.simulated = true;
        record.metrics = {made_metric("fad_400", 8e-4)};
        writer.append(record, std::nullopt);
        writer.checkpoint_when_due();  // as the record thread does
      }
    }
    { const schema::StoreWriter once_more(data); }  // signs that every start has its record
    const schema::StoreReader truth(data);
    schema::TrendWriter derived(data);
    while (!derived.catch_up(truth).done()) {
    }
  }

  ShimVfs shim_;  // first: what opens a file later is counted
};

constexpr int kFew = 2500, kMany = 5000;  // both beyond how far back is looked (store_reader.cpp)
constexpr int kDeeperTrees = 12;          // a level more of each B-tree that is looked into

TEST_F(StartUp, ReadsNoMoreOfAStoreOfManyTests) {
  EXPECT_LE(reads_after(kMany, "north"), reads_after(kFew, "north") + kDeeperTrees);
}

TEST_F(StartUp, ReadsNoMoreForABenchThatMadeNoneOfTheTests) {
  EXPECT_LE(reads_after(kMany, "south"), reads_after(kFew, "south") + kDeeperTrees);
}

}  // namespace
}  // namespace endgate::test
