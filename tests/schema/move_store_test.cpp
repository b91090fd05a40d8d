// A store at another place stays the same store, and the old place takes nothing more.

#include "schema/move_store.h"

#include <gtest/gtest.h>

#include <fstream>

#include "schema/durable_file.h"
#include "schema/moved_mark.h"
#include "schema/sqlite_handle.h"
#include "tests/support/store_helpers.h"
#include "tests/support/temporary_folder.h"

namespace endgate::schema {
namespace {

namespace fs = std::filesystem;
using test::append_test;
using test::fault_of;

class MovedStore : public ::testing::Test {
 protected:
  MovedStore() {
    StoreWriter writer(old_);
    append_test(writer, "QH1", 1, test::made_trace(2, 1, 4, 1));
    append_test(writer, "QH2");
  }
  [[nodiscard]] bool is_nowhere_but_at_home() const {
    return !fs::exists(new_) && !fs::exists(new_.string() + ".unfinished") &&
           !fs::exists(old_ / kMovedMark);
  }
  test::TemporaryFolder folder_;
  fs::path old_ = folder_.path() / "old", new_ = folder_.path() / "new" / "place";
};

TEST_F(MovedStore, KeepsItsIdItsKeyItsHeadAndItsTraces_MV2) {
  const StoreReader before(old_);
  const VerifyResult result = move_store(old_, new_);
  EXPECT_EQ(result.facts, 5);
  EXPECT_EQ(result.traces, 1);
  const StoreReader after(new_);
  EXPECT_EQ(after.store_id(), before.store_id());
  EXPECT_EQ(after.head_at(5), before.head_at(5));
  EXPECT_TRUE(after.trace_of(after.records_of("QH1").front()));
  const auto mode = fs::status(new_ / "signing.key").permissions();
  EXPECT_EQ(mode, fs::perms::owner_read | fs::perms::owner_write);
  StoreWriter writer(new_);
  EXPECT_EQ(writer.last_position(), 5) << "with its own key no new opening is sealed";
  append_test(writer, "QH3");
  EXPECT_FALSE(verify(new_, true).first_bad);
}

TEST_F(MovedStore, LeavesTheOldFolderAsItWasAndNobodyWritesThereAnyMore_MV3) {
  const auto truth = read_file(old_ / "records.db"), samples = read_file(old_ / "trace-0001.db");
  move_store(old_, new_);
  EXPECT_EQ(read_file(old_ / "records.db"), truth);
  EXPECT_EQ(read_file(old_ / "trace-0001.db"), samples);
  EXPECT_EQ(StoreReader(old_).record_count(), 2);
  try {
    const StoreWriter writer(old_);
    FAIL() << "two stores would grow out of one";
  } catch (const StoreFault& fault) {
    EXPECT_EQ(fault.kind(), StoreFault::Kind::refused);
    EXPECT_NE(std::string(fault.what()).find("data_directory = \"" + new_.string() + "\""),
              std::string::npos)
        << fault.what();
  }
  EXPECT_EQ(fault_of([&] { move_store(old_, folder_.path() / "third"); }),
            StoreFault::Kind::refused);
  fs::remove(old_ / kMovedMark);
  EXPECT_EQ(StoreWriter(old_).last_position(), 5);
}

TEST_F(MovedStore, IsRefusedWhileSomebodyOwnsIt_MV1) {
  {
    const StoreWriter service(old_);
    EXPECT_EQ(fault_of([&] { move_store(old_, new_); }), StoreFault::Kind::busy);
  }
  EXPECT_TRUE(is_nowhere_but_at_home());
}

TEST_F(MovedStore, IsOwnedWhileItIsCopied_MV1) {
  int tried = 0;
  move_store(old_, new_, [&](const BackupStep&) {
    ++tried;
    EXPECT_EQ(fault_of([&] { const StoreWriter late(old_); }), StoreFault::Kind::busy);
  });
  EXPECT_GT(tried, 0) << "and it says how far it is";
}

TEST_F(MovedStore, DoesNotCountWhenAFactOrATraceDoesNotMatch_MV2) {
  Database(old_ / "trace-0001.db", Database::Mode::read_write)
      .run("DROP TRIGGER trace_is_never_deleted; DELETE FROM trace");
  EXPECT_EQ(fault_of([&] { move_store(old_, new_); }), StoreFault::Kind::damaged);
  EXPECT_TRUE(is_nowhere_but_at_home());
  EXPECT_EQ(StoreWriter(old_).last_position(), 5) << "the old one goes on";
}

TEST_F(MovedStore, GoesIntoNoFolderWithFilesAndNotIntoItself_MV4) {
  fs::create_directories(new_);
  std::ofstream(new_ / "mine.txt") << "mine";
  EXPECT_EQ(fault_of([&] { move_store(old_, new_); }), StoreFault::Kind::refused);
  EXPECT_EQ(fault_of([&] { move_store(old_, old_ / "inside"); }), StoreFault::Kind::refused);
  EXPECT_EQ(fault_of([&] { move_store(old_, old_); }), StoreFault::Kind::refused);
  EXPECT_FALSE(fs::exists(old_ / kMovedMark));
  EXPECT_FALSE(fs::exists(old_ / "inside.unfinished"));
  EXPECT_EQ(fault_of([&] { move_store(folder_.path() / "none", folder_.path() / "x"); }),
            StoreFault::Kind::io);
}

}  // namespace
}  // namespace endgate::schema
