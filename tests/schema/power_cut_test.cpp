// What does a power cut leave behind?  kill -9 cannot tell, for the kernel keeps what was written.
//
// Every write, truncation and sync of a run is logged.  A power cut after any of them is a folder
// in which all that was synced is there, and of the rest an arbitrary part, torn at 512 bytes.  In
// each such image every acknowledged record must be there with its trace, and the store must
// verify.
//
// Model, from common practice (no source): sectors of 512 bytes are written whole or not at all;
// a sync makes all earlier writes to its file durable; unsynced writes survive in any order; a file
// may come back whose removal was not synced with its folder.

#include <gtest/gtest.h>

#include <fstream>
#include <functional>
#include <random>

#include "schema/store.h"
#include "schema/verify.h"
#include "tests/support/shim_vfs.h"
#include "tests/support/store_helpers.h"
#include "tests/support/temporary_folder.h"

namespace endgate::schema {
namespace {

namespace fs = std::filesystem;
using Operation = test::ShimVfs::Operation;
using What = Operation::What;

struct Acknowledged {
  std::size_t after;  // so many operations
  Position position;
};

struct RecordedRun {
  std::vector<Operation> log;
  std::vector<Acknowledged> acknowledged;
};

// From an empty folder over enough tests for two checkpoints, a restart in the middle.
RecordedRun record_run(const fs::path& folder) {
  test::ShimVfs shim;
  shim.keep_log = true;
  shim.sync_really = false;
  RecordedRun run;
  const Trace trace = test::made_trace(4, 30, 8, 1);
  for (int opening = 0; opening < 2; ++opening) {
    StoreWriter writer(folder);
    for (int i = 0; i < 45; ++i) {
      const std::string serial = "QH" + std::to_string(45 * opening + i);
      const Position position = test::append_test(writer, serial, 1, trace);
      run.acknowledged.push_back({shim.log.size(), position});
      writer.checkpoint_when_due();
    }
  }
  run.log = std::move(shim.log);
  return run;
}

class PowerCut {
 public:
  PowerCut(const RecordedRun& run, std::size_t after, unsigned seed)
      : run_(run), after_(after), random_(seed) {}

  // The content of each file as the disk has it.
  [[nodiscard]] std::map<std::string, std::string> image() {
    std::map<std::string, std::size_t> synced;  // operations before this index are durable
    for (std::size_t i = 0; i < after_; ++i)
      if (run_.log[i].what == What::sync) synced[run_.log[i].file] = i;
    std::map<std::string, std::string> files;
    for (std::size_t i = 0; i < after_; ++i)
      apply(files, run_.log[i], i < synced[run_.log[i].file]);
    return files;
  }

 private:
  void apply(std::map<std::string, std::string>& files, const Operation& operation, bool durable) {
    if (operation.what == What::truncate && (durable || coin()))
      files[operation.file].resize(static_cast<std::size_t>(operation.at));
    if (operation.what == What::remove_synced || (operation.what == What::remove && coin()))
      files.erase(operation.file);
    if (operation.what != What::write) return;
    const bool whole = durable || coin();
    constexpr std::size_t sector = 512;
    for (std::size_t from = 0; from < operation.bytes.size(); from += sector) {
      if (!whole && coin()) continue;
      const std::string part = operation.bytes.substr(from, sector);
      std::string& file = files[operation.file];
      const std::size_t at = static_cast<std::size_t>(operation.at) + from;
      if (file.size() < at + part.size()) file.resize(at + part.size());
      file.replace(at, part.size(), part);
    }
  }
  bool coin() { return random_() % 2 == 0; }

  const RecordedRun& run_;
  std::size_t after_;
  std::mt19937 random_;
};

void expect_nothing_lost(const fs::path& folder, const RecordedRun& run, std::size_t after) {
  test::ShimVfs shim;
  shim.sync_really = false;
  StoreWriter writer(folder);
  const VerifyResult result = verify(folder, true);
  ASSERT_FALSE(result.first_bad) << "fact " << *result.first_bad << ": " << result.what;
  StoreReader reader(folder);
  for (const Acknowledged& one : run.acknowledged) {
    if (one.after > after) break;
    ASSERT_TRUE(reader.record_at(one.position)) << "lost acknowledged position " << one.position;
  }
}

void cut_power(const fs::path& origin, const RecordedRun& run, std::size_t after, unsigned seed,
               const std::function<void(const fs::path&)>& look) {
  test::TemporaryFolder folder;
  fs::copy_file(origin / "signing.key", folder.path() / "signing.key");
  for (const auto& [name, content] : PowerCut(run, after, seed).image())
    std::ofstream(folder.path() / name, std::ios::binary) << content;
  look(folder);
}

TEST(PowerCut, LosesNoAcknowledgedRecordAndLeavesNoneInHalf_S1_S3_S4) {
  constexpr unsigned cuts = 200;
  test::TemporaryFolder origin;
  const RecordedRun run = record_run(origin);
  std::mt19937 random(20261118);
  for (unsigned cut = 0; cut < cuts; ++cut) {
    const std::size_t after = 1 + random() % run.log.size();
    SCOPED_TRACE("cut " + std::to_string(cut) + " after operation " + std::to_string(after));
    cut_power(origin, run, after, cut, [&](const fs::path& folder) {
      EXPECT_EQ(test::fault_of([&] { expect_nothing_lost(folder, run, after); }), std::nullopt);
    });
    if (HasFailure()) return;
  }
  std::printf("power cuts: %u of %zu operations, %zu acknowledged records\n", cuts, run.log.size(),
              run.acknowledged.size());
}

// The proof that the images are sharp: the same run without its syncs does lose records.
TEST(PowerCut, LosesRecordsInTheSameImagesWhenNothingIsSynced) {
  test::TemporaryFolder origin;
  RecordedRun run = record_run(origin);
  std::erase_if(run.log, [](const Operation& operation) { return operation.what == What::sync; });
  int lost = 0;
  for (unsigned cut = 0; cut < 10; ++cut)
    cut_power(origin, run, run.log.size(), cut, [&](const fs::path& folder) {
      std::int64_t found = 0;
      (void)test::fault_of([&] {
        const StoreWriter writer(folder);
        found = StoreReader(folder).record_count();
      });
      lost += found < static_cast<std::int64_t>(run.acknowledged.size());
    });
  EXPECT_GT(lost, 0);
}

}  // namespace
}  // namespace endgate::schema
