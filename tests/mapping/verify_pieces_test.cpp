// Is a piece of a long trace that was changed or taken away found, by whoever checks or copies?

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "daemon/mapping/trace_of.h"
#include "daemon/mapping/trace_pieces.h"
#include "schema/backup.h"
#include "schema/named_pieces.h"
#include "schema/sqlite_handle.h"
#include "schema/verify.h"
#include "tests/support/store_helpers.h"
#include "tests/support/temporary_folder.h"

namespace endgate::daemon {
namespace {

namespace fs = std::filesystem;
using ::testing::HasSubstr;

analysis::RawTrace run_from(std::int64_t first_us) {
  analysis::RawTrace run;
  run.channels = {{"head",
                   analysis::RawKind::count,
                   {first_us, first_us + 1'000'000},
                   {7, 8},
                   {analysis::Quality::good, analysis::Quality::good}}};
  analysis::StepMark mark;
  mark.id = "on";
  mark.kind = analysis::StepKind::warm_up;
  mark.start_us = first_us;
  mark.end_us = first_us + 1'000'000;
  run.steps = {mark};
  return run;
}

class VerifyPieces : public ::testing::Test {
 protected:
  VerifyPieces() {
    schema::StoreWriter writer(store);
    const schema::TestStart start = test::made_start("QH1");
    const schema::Position at = writer.append(start);
    std::vector<TracePiece> pieces;
    for (const std::int64_t first_us : {0, 5'000'000})
      pieces.push_back(piece_of(writer.append_piece(at, stored_trace_of(run_from(first_us)))));
    record = writer.append(test::made_record(at, start),
                           stored_long_trace_of(run_from(9'000'000), pieces));
  }
  // Row 1 and 2 are the pieces, row 3 is the digest.
  void forge(const std::string& sql) const {
    schema::Database stranger(store / "trace-0001.db", schema::Database::Mode::read_write);
    stranger.run("DROP TRIGGER trace_is_never_updated; DROP TRIGGER trace_is_never_deleted; " +
                 sql);
    ASSERT_EQ(sqlite3_changes(stranger.raw()), 1);
  }

  test::TemporaryFolder folder;
  fs::path store = folder.path() / "store";
  schema::Position record = 0;
};

TEST_F(VerifyPieces, CountsThemBesideTheTraces) {
  const schema::VerifyResult found = schema::verify(store, true);
  EXPECT_FALSE(found.first_bad) << found.what;
  EXPECT_EQ(found.traces, 1);
  EXPECT_EQ(found.pieces, 2);
}

TEST_F(VerifyPieces, FindsOneThatIsGone) {
  forge("DELETE FROM trace WHERE id = 2");
  EXPECT_FALSE(schema::verify(store, false).first_bad);
  const schema::VerifyResult found = schema::verify(store, true);
  EXPECT_EQ(found.first_bad, record);
  EXPECT_THAT(found.what, HasSubstr("a piece of its trace is not in trace-0001.db"));
}

TEST_F(VerifyPieces, FindsOneThatIsAnother) {
  forge("UPDATE trace SET bytes = (SELECT bytes FROM trace WHERE id = 1) WHERE id = 2");
  const schema::VerifyResult found = schema::verify(store, true);
  EXPECT_EQ(found.first_bad, record);
  EXPECT_THAT(found.what, HasSubstr("a piece of its trace does not match its hash"));
}

TEST_F(VerifyPieces, ABackupDoesNotCountWithoutThemNorDoesARestore_B1) {
  const fs::path copy = folder.path() / "copy";
  const fs::path late = folder.path() / "late";
  schema::back_up(store, copy);
  forge("DELETE FROM trace WHERE id = 1");
  EXPECT_EQ(test::fault_of([&] { schema::back_up(store, late); }),
            schema::StoreFault::Kind::damaged);
  EXPECT_EQ(test::fault_of([&] { schema::restore(store, late); }),
            schema::StoreFault::Kind::damaged);
  schema::restore(copy, late);
  EXPECT_EQ(schema::verify(late, true).pieces, 2);
}

// Two readers of one format: this layer's, which knows nothing of steps, and the store's.
TEST_F(VerifyPieces, BothReadersOfMarksNameTheSamePieces) {
  const schema::StoreReader reader(store);
  const auto digest = reader.trace_of(*reader.record_at(record));
  ASSERT_TRUE(digest);
  const std::vector<TracePiece> ours = pieces_named_in(*digest);
  const std::vector<schema::NamedPiece> theirs = schema::named_pieces(digest->marks);
  ASSERT_EQ(theirs.size(), 2U);
  ASSERT_EQ(ours.size(), theirs.size());
  for (std::size_t i = 0; i < ours.size(); ++i) {
    EXPECT_EQ(ours[i].file, theirs[i].file);
    EXPECT_EQ(ours[i].sha256, schema::Bytes(theirs[i].sha256.begin(), theirs[i].sha256.end()));
  }
  EXPECT_TRUE(schema::named_pieces(stored_trace_of(run_from(0)).marks).empty());
}

TEST_F(VerifyPieces, MarksCutOffAnywhereAreDamagedAndNothingElse) {
  const schema::Bytes marks =
      stored_long_trace_of(run_from(0), {{"trace-0001.db", schema::Bytes(32, 7)}}).marks;
  for (std::size_t length = 4; length < marks.size(); ++length)
    EXPECT_EQ(test::fault_of([&] {
                static_cast<void>(schema::named_pieces({marks.data(), length}));
              }),
              schema::StoreFault::Kind::damaged)
        << length;
}

}  // namespace
}  // namespace endgate::daemon
