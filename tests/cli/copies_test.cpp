#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "daemon/mapping/trace_of.h"
#include "daemon/mapping/trace_pieces.h"
#include "schema/sqlite_handle.h"
#include "schema/store.h"
#include "schema/trend_file.h"
#include "tests/cli/command.h"
#include "tests/support/store_helpers.h"

namespace endgate {
namespace {

using test::Ended;
using testing::HasSubstr;

class Copies : public testing::Test {
 protected:
  [[nodiscard]] std::string place(const char* name) const {
    return (folder_.path() / name).string();
  }
  test::TemporaryFolder folder_;
};

TEST_F(Copies, ABackupWhileTheStoreIsOwnedIsVerifiedAndRestoredUnderAnIdOfItsOwn) {
  std::filesystem::create_directory(place("store"));
  schema::StoreWriter writer(place("store"));
  test::append_test(writer, "QH2648-0001-A");

  const Ended backed = test::endgate({"backup", place("copy"), "--data", place("store")});
  EXPECT_EQ(backed.status, 0) << backed.err;
  EXPECT_THAT(backed.out, HasSubstr("opened and verified"));

  const Ended restored = test::endgate({"restore", place("copy"), "--data", place("again")});
  EXPECT_EQ(restored.status, 0) << restored.err;
  const schema::StoreReader before(place("store")), after(place("again"));
  EXPECT_NE(after.store_id(), before.store_id());
  EXPECT_THAT(restored.out, HasSubstr(after.store_id()));
  EXPECT_EQ(after.records_of("QH2648-0001-A").size(), 1u);
  EXPECT_EQ(test::endgate({"verify", "--data", place("again"), "--traces"}).status, 0);
}

// A lab trial of hours hands its trace over in pieces.
TEST_F(Copies, APieceOfALongTraceThatIsGoneIsFoundAndNotCopied) {
  std::filesystem::create_directory(place("store"));
  {
    schema::StoreWriter writer(place("store"));
    const schema::TestStart start = test::made_start("QH2648-0001-A");
    const schema::Position at = writer.append(start);
    const auto piece = writer.append_piece(at, daemon::stored_trace_of({}));
    writer.append(test::made_record(at, start),
                  daemon::stored_long_trace_of({}, {daemon::piece_of(piece)}));
  }
  const Ended whole = test::endgate({"verify", "--data", place("store"), "--traces"});
  EXPECT_EQ(whole.status, 0) << whole.out;
  EXPECT_THAT(whole.out, HasSubstr("traces: 1\npieces of long traces: 1\n"));

  schema::Database(place("store") + "/trace-0001.db", schema::Database::Mode::read_write)
      .run("DROP TRIGGER trace_is_never_deleted; DELETE FROM trace WHERE id = 1");
  const Ended torn = test::endgate({"verify", "--data", place("store"), "--traces"});
  EXPECT_EQ(torn.status, 1);
  EXPECT_THAT(torn.out, HasSubstr("first bad fact: position 3: a piece of its trace is not in"));
  const Ended backed = test::endgate({"backup", place("copy"), "--data", place("store")});
  EXPECT_EQ(backed.status, 5);
  EXPECT_THAT(backed.err, HasSubstr("a piece of its trace"));
  EXPECT_FALSE(std::filesystem::exists(place("copy.unfinished")));
}

// An upgrade leaves the old daemon running, and so its store, for as many nights as it likes.
TEST_F(Copies, AStoreOfAnOlderVersionIsVerifiedBackedUpAndRestored) {
  std::filesystem::copy(
      std::filesystem::path(ENDGATE_SOURCE_DIR) / "fixtures" / "databases" / "version-2",
      place("store"), std::filesystem::copy_options::recursive);
  const Ended sound = test::endgate({"verify", "--data", place("store"), "--traces"});
  EXPECT_EQ(sound.status, 0) << sound.out << sound.err;
  const Ended backed = test::endgate({"backup", place("copy"), "--data", place("store")});
  EXPECT_EQ(backed.status, 0) << backed.err;
  const Ended restored = test::endgate({"restore", place("copy"), "--data", place("again")});
  EXPECT_EQ(restored.status, 0) << restored.err;
  EXPECT_EQ(schema::StoreReader(place("again")).records_of("QH3").size(), 1u);
}

TEST_F(Copies, NothingIsWrittenIntoAFolderThatHoldsFiles) {
  std::filesystem::create_directory(place("store"));
  schema::StoreWriter writer(place("store"));
  std::filesystem::create_directory(place("full"));
  std::ofstream(place("full") + "/mine") << "mine";
  const Ended refused = test::endgate({"backup", place("full"), "--data", place("store")});
  EXPECT_EQ(refused.status, 5);
  EXPECT_THAT(refused.err, HasSubstr(place("full")));
}

TEST_F(Copies, AMovedStoreSaysTheLineOfTheServiceFileToWrite) {
  std::filesystem::create_directory(place("store"));
  {
    schema::StoreWriter writer(place("store"));
    test::append_test(writer, "QH2648-0001-A");
    const Ended refused = test::endgate({"move", place("new"), "--data", place("store")});
    EXPECT_EQ(refused.status, 6) << refused.out;
    EXPECT_THAT(refused.err, HasSubstr("in use by process"));
  }
  const Ended moved = test::endgate({"move", place("new"), "--data", place("store")});
  EXPECT_EQ(moved.status, 0) << moved.err;
  EXPECT_THAT(moved.out, HasSubstr("opened and verified"));
  EXPECT_THAT(moved.out, HasSubstr("data_directory = \"" + place("new") + "\"\n"));
  EXPECT_THAT(moved.err, HasSubstr("pages of records.db: "));
  EXPECT_EQ(test::endgate({"verify", "--traces", "--data", place("new")}).status, 0);
  const Ended late = test::endgate(
      {"lots", "QH2648-0001-A", "motor=M-1", "--by", "Ada", "--data", place("store")});
  EXPECT_EQ(late.status, 5);
  EXPECT_THAT(late.err, HasSubstr("was moved to " + place("new")));
}

TEST_F(Copies, TheFileOfTrendsIsMadeAnewUnlessAServiceKeepsIt) {
  std::filesystem::create_directory(place("store"));
  {
    schema::StoreWriter writer(place("store"));
    test::append_test(writer, "QH2648-0001-A");
    const Ended refused = test::endgate({"rebuild", "--data", place("store")});
    EXPECT_EQ(refused.status, 6) << refused.err;
  }
  std::ofstream(place("store") + "/trend.db") << "spoilt";
  const Ended made = test::endgate({"rebuild", "--data", place("store")});
  EXPECT_EQ(made.status, 0) << made.err;
  EXPECT_THAT(made.err, HasSubstr(" facts"));
  const schema::StoreReader truth(place("store"));
  const auto derived = schema::TrendReader::open(truth);
  ASSERT_TRUE(derived);
  EXPECT_EQ(derived->position(), truth.last_position());
}

}  // namespace
}  // namespace endgate
