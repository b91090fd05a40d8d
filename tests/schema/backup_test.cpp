// To another place while tests run, and back: nothing counts that was not verified.

#include "schema/backup.h"

#include <gtest/gtest.h>

#include <fstream>
#include <iterator>
#include <map>

#include "schema/seal.h"
#include "schema/sha256.h"
#include "schema/sqlite_handle.h"
#include "tests/support/store_helpers.h"
#include "tests/support/temporary_folder.h"

namespace endgate::schema {
namespace {

namespace fs = std::filesystem;
using test::append_test;
using test::fault_of;

class Backup : public ::testing::Test {
 protected:
  Backup() {
    append_test(*writer, "QH1", 1, test::made_trace(2, 1, 4, 1));
    append_test(*writer, "QH2");
  }
  test::TemporaryFolder folder;
  fs::path store = folder.path() / "store", copy = folder.path() / "copy";
  std::unique_ptr<StoreWriter> writer = std::make_unique<StoreWriter>(store);
};

TEST_F(Backup, WhileTheWriterIsOpenIsAWholeStoreWithItsTraces_B1) {
  const VerifyResult result = back_up(store, copy);
  EXPECT_EQ(result.facts, 5);
  EXPECT_EQ(result.traces, 1);
  const StoreReader reader(copy);
  EXPECT_EQ(reader.store_id(), StoreReader(store).store_id());
  EXPECT_TRUE(reader.trace_of(reader.records_of("QH1").front()));
  EXPECT_FALSE(fs::exists(copy / "signing.key")) << "the key stays at home";
}

TEST_F(Backup, OfAStoreThatGrowsBetweenTheStepsIsOneInstantOfIt) {
  int more = 2;
  const VerifyResult result = back_up(store, copy, [&](const BackupStep& step) {
    if (step.doing == "pages of records.db" && more < 12)
      append_test(*writer, "QH" + std::to_string(++more));
  });
  EXPECT_GE(result.facts, 5);
  EXPECT_EQ(verify(copy, true).head, result.head);
}

TEST_F(Backup, NeverWritesIntoAFolderThatHasFiles_B2) {
  fs::create_directories(copy);
  std::ofstream(copy / "mine.txt") << "x";
  EXPECT_EQ(fault_of([&] { back_up(store, copy); }), StoreFault::Kind::refused);
  EXPECT_FALSE(fs::exists(copy / "records.db"));
}

// Every file of the source and its bytes; the index of the log in memory is SQLite's own.
std::map<std::string, Hash> files_in(const fs::path& folder) {
  std::map<std::string, Hash> files;
  for (const auto& entry : fs::directory_iterator(folder)) {
    if (entry.path().string().ends_with("-shm")) continue;
    std::ifstream in(entry.path(), std::ios::binary);
    files[entry.path().filename()] = sha256_of(std::string(std::istreambuf_iterator<char>(in), {}));
  }
  return files;
}

TEST_F(Backup, OnlyReadsTheSource_B3) {
  const auto before = files_in(store);
  ASSERT_GT(before.size(), 3U);
  back_up(store, copy);
  EXPECT_EQ(files_in(store), before);
  restore(copy, folder.path() / "again");
  EXPECT_EQ(files_in(store), before);
}

TEST_F(Backup, OfADamagedStoreDoesNotCount_B1) {
  writer.reset();
  Database stranger(store / "records.db", Database::Mode::read_write);
  stranger.run("DROP TRIGGER record_is_never_updated; UPDATE record SET verdict = 'fail'");
  EXPECT_EQ(fault_of([&] { back_up(store, copy); }), StoreFault::Kind::damaged);
  EXPECT_FALSE(fs::exists(copy));
  EXPECT_FALSE(fs::exists(copy.string() + ".unfinished")) << "a copy a night would fill the disk";
}

TEST_F(Backup, OfAStoreOfANewerVersionSaysSoBeforeItCopies) {
  back_up(store, copy);
  Database(copy / "records.db", Database::Mode::read_write).run("PRAGMA user_version = 99");
  const fs::path back = folder.path() / "back";
  EXPECT_EQ(fault_of([&] { restore(copy, back); }), StoreFault::Kind::wrong_version);
  EXPECT_FALSE(fs::exists(back.string() + ".unfinished"));
}

TEST_F(Backup, IsRestoredAsAStoreOfItsOwnThatNamesTheOld) {
  back_up(store, copy);
  const fs::path back = folder.path() / "back";
  const std::string id = restore(copy, back);
  const std::string old_id = StoreReader(store).store_id();
  EXPECT_NE(id, old_id);
  const auto sealed = StoreReader(back).sealed_fact(6);
  ASSERT_TRUE(sealed);
  const auto opened = std::get<StoreOpened>(decode_fact(sealed->bytes));
  EXPECT_EQ(opened.restored_from, old_id);
  EXPECT_EQ(opened.restored_to_position, 5);
  EXPECT_FALSE(verify(back, true).first_bad) << verify(back, true).what;
  StoreWriter goes_on(back);
  EXPECT_EQ(append_test(goes_on, "QH3"), 8);
}

TEST_F(Backup, TellsHowFarItIs) {
  std::int64_t last_done = -1;
  std::int64_t last_of = 0;
  back_up(store, copy, [&](const BackupStep& step) {
    if (step.doing == "pages of records.db") last_done = step.done, last_of = step.of;
  });
  EXPECT_EQ(last_done, last_of);
  EXPECT_GT(last_of, 0);
}

}  // namespace
}  // namespace endgate::schema
