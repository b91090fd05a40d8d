// Which file does a trace go to?

#include "schema/trace_files.h"

#include <gtest/gtest.h>

#include <fstream>

#include "schema/store.h"
#include "schema/verify.h"
#include "tests/support/store_helpers.h"
#include "tests/support/temporary_folder.h"

namespace endgate::schema {
namespace {

using test::kNovember2026;
using test::made_record;
using test::made_start;

constexpr std::int64_t kMonth = 31LL * 24 * 3600 * 1000;

std::string file_of_test_at(StoreWriter& writer, const std::filesystem::path& folder,
                            const std::string& serial, std::int64_t utc_ms) {
  TestStart start = made_start(serial);
  start.at.utc_ms = utc_ms;
  const Position started = writer.append(start);
  const Position position =
      writer.append(made_record(started, start), test::made_trace(1, 1, 1, 1));
  return StoreReader(folder).record_at(position)->record.trace_file;
}

TEST(TraceFiles, AreNumberedAndANewOneIsOpenedByTheFirstTestOfAMonth) {
  test::TemporaryFolder folder;
  StoreWriter writer(folder);
  EXPECT_EQ(file_of_test_at(writer, folder, "QH1", kNovember2026), "trace-0001.db");
  EXPECT_EQ(file_of_test_at(writer, folder, "QH2", kNovember2026 + 1000), "trace-0001.db");
  EXPECT_EQ(file_of_test_at(writer, folder, "QH3", kNovember2026 + kMonth), "trace-0002.db");
  EXPECT_EQ(file_of_test_at(writer, folder, "QH4", kNovember2026 + 3 * kMonth), "trace-0003.db");
}

TEST(TraceFiles, AreNeverReopenedWhenTheWallClockStepsBack) {
  test::TemporaryFolder folder;
  StoreWriter writer(folder);
  file_of_test_at(writer, folder, "QH1", kNovember2026);
  file_of_test_at(writer, folder, "QH2", kNovember2026 + kMonth);
  EXPECT_EQ(file_of_test_at(writer, folder, "QH3", kNovember2026), "trace-0002.db");
}

TEST(TraceFiles, GoOnWithTheNewestAfterARestart) {
  test::TemporaryFolder folder;
  {
    StoreWriter writer(folder);
    file_of_test_at(writer, folder, "QH1", kNovember2026);
    file_of_test_at(writer, folder, "QH2", kNovember2026 + kMonth);
  }
  StoreWriter writer(folder);
  EXPECT_EQ(file_of_test_at(writer, folder, "QH3", kNovember2026 + kMonth), "trace-0002.db");
  const VerifyResult result = verify(folder, true);
  EXPECT_FALSE(result.first_bad) << result.what;
  EXPECT_EQ(result.traces, 3);
}

TEST(TraceFiles, LeaveOtherFilesOfTheFolderAlone) {
  test::TemporaryFolder folder;
  for (const char* other : {"trace-0007.db-wal", "trace-12.db", "trace-.db", "trace-0009.txt", "t",
                            "trace-12345678901.db", "xtrace-0008.db"})
    std::ofstream(folder.path() / other) << "?";
  StoreWriter writer(folder);
  EXPECT_EQ(file_of_test_at(writer, folder, "QH1", kNovember2026), "trace-0001.db");
}

TEST(TraceFiles, AreReadyBeforeTheRelayIsCommanded) {
  test::TemporaryFolder folder;
  StoreWriter writer(folder);
  EXPECT_FALSE(std::filesystem::exists(folder.path() / "trace-0001.db"));
  writer.append(made_start("QH1"));
  EXPECT_TRUE(std::filesystem::exists(folder.path() / "trace-0001.db"));
}

TEST(TraceFiles, FinishAFileWhoseMakingWasCutOff) {
  test::TemporaryFolder folder;
  {
    Database(folder.path() / "trace-0001.db", Database::Mode::read_write)
        .run("PRAGMA user_version");
  }
  StoreWriter writer(folder);
  EXPECT_EQ(file_of_test_at(writer, folder, "QH1", kNovember2026), "trace-0001.db");
}

TEST(TraceFiles, KeepOneCopyWhenARecordIsTriedAgain_S4) {
  test::TemporaryFolder folder;
  StoreWriter writer(folder);
  const TestStart start = made_start("QH1");
  const Position started = writer.append(start);
  Record wrong = made_record(started, start);
  wrong.cycle_s = std::nan("");
  const Trace trace = test::made_trace(1, 1, 1, 1);
  EXPECT_TRUE(test::fault_of([&] { writer.append(wrong, trace); }));
  writer.append(made_record(started, start), trace);
  Database database(folder.path() / "trace-0001.db", Database::Mode::read_only);
  EXPECT_EQ(database.number("SELECT COUNT(*) FROM trace"), 1);
}

TEST(TraceFiles, KnowTheMonthOfAnInstant) {
  EXPECT_EQ(month_of(0), "1970-01");
  EXPECT_EQ(month_of(kNovember2026), "2026-11");
  EXPECT_EQ(month_of(1'798'761'599'999), "2026-12");
  EXPECT_EQ(month_of(1'798'761'600'000), "2027-01");
}

}  // namespace
}  // namespace endgate::schema
