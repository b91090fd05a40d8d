// One record and its trace, taken out into an empty folder.

#include "schema/copied_record.h"

#include <gtest/gtest.h>
#include <sys/stat.h>

#include <fstream>

#include "schema/seal.h"
#include "tests/support/store_helpers.h"
#include "tests/support/temporary_folder.h"

namespace endgate::schema {
namespace {

namespace fs = std::filesystem;
using test::append_test;
using test::fault_of;

class CopiedRecordTest : public ::testing::Test {
 protected:
  CopiedRecordTest() {
    StoreWriter writer(store.path());
    position = append_test(writer, "QH1", 1, trace);
    bare = append_test(writer, "QH2");
  }
  void flip(const char* file, std::size_t at) {
    std::fstream stream(to.path() / file, std::ios::in | std::ios::out | std::ios::binary);
    stream.seekg(static_cast<std::streamoff>(at));
    const char byte = static_cast<char>(stream.get() ^ 1);
    stream.seekp(static_cast<std::streamoff>(at));
    stream.put(byte);
  }

  test::TemporaryFolder store, to;
  const Trace trace = test::made_trace(3, 2, 8, 1);
  Position position = 0, bare = 0;
};

TEST_F(CopiedRecordTest, GivesBackRecordHeadAndTrace) {
  const StoreReader reader(store.path());
  copy_out(reader, position, to);
  EXPECT_TRUE(holds_copied_record(to));
  const CopiedRecord copied = read_copied_record(to);
  const StoredRecord original = *reader.record_at(position);
  EXPECT_EQ(copied.store_id, reader.store_id());
  EXPECT_EQ(copied.stored.position, position);
  EXPECT_EQ(copied.stored.head, original.head);
  EXPECT_EQ(encode(Fact(copied.stored.record)), encode(Fact(original.record)));
  ASSERT_TRUE(copied.trace);
  EXPECT_TRUE(test::same(*copied.trace, trace));
}

TEST_F(CopiedRecordTest, HasNoTraceWhenTheRecordHasNone) {
  copy_out(StoreReader(store.path()), bare, to);
  EXPECT_FALSE(read_copied_record(to).trace);
}

TEST_F(CopiedRecordTest, IsNotWrittenOverAnotherOne) {
  const StoreReader reader(store.path());
  copy_out(reader, position, to);
  EXPECT_EQ(fault_of([&] { copy_out(reader, bare, to); }), StoreFault::Kind::refused);
}

TEST_F(CopiedRecordTest, IsRefusedForAPositionThatIsNoRecord) {
  EXPECT_EQ(fault_of([&] { copy_out(StoreReader(store.path()), 1, to); }),
            StoreFault::Kind::refused);
}

TEST_F(CopiedRecordTest, IsRefusedWhenAByteOfItChanged) {
  copy_out(StoreReader(store.path()), position, to);
  flip("record.fact", 600);
  EXPECT_EQ(fault_of([&] { (void)read_copied_record(to); }), StoreFault::Kind::damaged);
  flip("record.fact", 600);
  EXPECT_FALSE(fault_of([&] { (void)read_copied_record(to); }));
  flip("trace.bin", 300);
  EXPECT_EQ(fault_of([&] { (void)read_copied_record(to); }), StoreFault::Kind::damaged);
}

TEST_F(CopiedRecordTest, SaysThatAnEmptyFolderHoldsNone) {
  EXPECT_FALSE(holds_copied_record(to));
  EXPECT_EQ(fault_of([&] { (void)read_copied_record(to); }), StoreFault::Kind::io);
}

TEST(SigningKeyFile, IsReadableByItsOwnerAloneOrRefused) {
  test::TemporaryFolder folder;
  { StoreWriter writer(folder.path()); }
  const fs::path key = folder.path() / "signing.key";
  struct stat facts {};
  ASSERT_EQ(::stat(key.c_str(), &facts), 0);
  EXPECT_EQ(facts.st_mode & 0777, 0600U);
  fs::permissions(key, fs::perms::others_read, fs::perm_options::add);
  EXPECT_EQ(fault_of([&] { StoreWriter writer(folder.path()); }), StoreFault::Kind::refused);
}

}  // namespace
}  // namespace endgate::schema
