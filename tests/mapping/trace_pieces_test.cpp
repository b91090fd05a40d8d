// A long run in a store: pieces as they go, a digest at the end, and what a crash leaves.

#include "daemon/mapping/trace_pieces.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include "daemon/mapping/keep_broken_off.h"
#include "daemon/mapping/record_of.h"
#include "daemon/mapping/trace_of.h"
#include "schema/verify.h"
#include "tests/support/temporary_folder.h"

namespace endgate::daemon {
namespace {

using ::testing::HasSubstr;

analysis::RawTrace piece_from(std::int64_t first_us) {
  analysis::RawTrace piece;
  piece.channels = {{"head",
                     analysis::RawKind::count,
                     {first_us, first_us + 1'000'000},
                     {7, 8},
                     {analysis::Quality::good, analysis::Quality::good}}};
  analysis::StepMark mark;
  mark.id = "on";
  mark.kind = analysis::StepKind::warm_up;
  mark.start_us = first_us;
  mark.end_us = first_us + 1'000'000;
  piece.steps = {mark};
  return piece;
}

class TracePieces : public ::testing::Test {
 protected:
  schema::TestStart start_fact() const {
    return {.serial = "QH2648-1001-A",
            .attempt = 1,
            .model = "P1-20-12",
            .bench = "north",
            .purpose = "lab",
            .at = {.utc_ms = 1'764'000'000'000}};
  }
  schema::Position start(schema::StoreWriter& writer) const { return writer.append(start_fact()); }
  std::vector<TracePiece> keep_two(schema::StoreWriter& writer, schema::Position at) const {
    std::vector<TracePiece> pieces;
    for (const std::int64_t first_us : {0, 5'000'000})
      pieces.push_back(piece_of(writer.append_piece(at, stored_trace_of(piece_from(first_us)))));
    return pieces;
  }
  schema::StoredRecord only_record() const {
    return schema::StoreReader(folder.path()).latest_records(1).at(0);
  }

  test::TemporaryFolder folder;
};

TEST_F(TracePieces, TheRecordNamesEveryPieceAndEachReadsBack) {
  {
    schema::StoreWriter writer(folder.path());
    const schema::Position at = start(writer);
    const std::vector<TracePiece> pieces = keep_two(writer, at);
    schema::Record record = broken_off_record(start_fact(), at, {}, "1.0");
    writer.append(std::move(record), stored_long_trace_of(piece_from(0), pieces));
  }
  const schema::StoredRecord kept = only_record();
  const auto digest = schema::StoreReader(folder.path()).trace_of(kept);
  ASSERT_TRUE(digest);
  EXPECT_EQ(raw_trace_of(*digest).steps.at(0).id, "on");
  const std::vector<TracePiece> named = pieces_named_in(*digest);
  ASSERT_EQ(named.size(), 2U);
  schema::TraceReader reader(folder.path());
  const auto second = read_piece(reader, kept.record.start_position, named[1]);
  ASSERT_TRUE(second);
  EXPECT_EQ(second->channels.at(0).time_us.front(), 5'000'000);
  EXPECT_EQ(second->steps.at(0).start_us, 5'000'000);
  EXPECT_FALSE(schema::verify(folder.path(), true).first_bad);
}

TEST_F(TracePieces, ATraceInOnePieceNamesNone) {
  EXPECT_TRUE(pieces_named_in(stored_trace_of(piece_from(0))).empty());
}

TEST_F(TracePieces, APieceThatIsGoneIsNothing) {
  schema::StoreWriter writer(folder.path());
  const schema::Position at = start(writer);
  TracePiece piece = keep_two(writer, at).front();
  schema::TraceReader reader(folder.path());
  EXPECT_FALSE(read_piece(reader, at + 1, piece));
  piece.file = "trace-0009.db";
  EXPECT_FALSE(read_piece(reader, at, piece));
}

TEST_F(TracePieces, WhatACrashLeavesIsNamedInTheVoidRecord) {
  {
    schema::StoreWriter writer(folder.path());
    keep_two(writer, start(writer));
  }
  {
    schema::StoreWriter writer(folder.path());
    const auto open = schema::StoreReader(folder.path()).starts_without_record();
    ASSERT_EQ(open.size(), 1U);
    keep_broken_off(writer, folder.path(),
                    broken_off_record(open[0].start, open[0].position, {}, "1.0"));
  }
  const schema::StoredRecord kept = only_record();
  EXPECT_EQ(kept.record.verdict, "void");
  EXPECT_THAT(kept.record.reasons.at(0).sentence, HasSubstr("2 pieces of its trace are kept"));
  const auto trace = schema::StoreReader(folder.path()).trace_of(kept);
  ASSERT_TRUE(trace);
  EXPECT_EQ(pieces_named_in(*trace).size(), 2U);
  EXPECT_EQ(raw_trace_of(*trace).break_off, analysis::BreakOff::daemon_restarted);
  EXPECT_TRUE(schema::StoreReader(folder.path()).starts_without_record().empty());
}

TEST_F(TracePieces, AKillInTheMiddleKeepsWhatWasHandedOver) {
  const pid_t child = fork();
  ASSERT_GE(child, 0);
  if (child == 0) {
    schema::StoreWriter writer(folder.path());
    keep_two(writer, start(writer));
    kill(getpid(), SIGKILL);
  }
  int status = 0;
  ASSERT_EQ(waitpid(child, &status, 0), child);
  ASSERT_TRUE(WIFSIGNALED(status));
  {
    schema::StoreWriter writer(folder.path());
    const auto open = schema::StoreReader(folder.path()).starts_without_record();
    ASSERT_EQ(open.size(), 1U);
    keep_broken_off(writer, folder.path(),
                    broken_off_record(open[0].start, open[0].position, {}, "1.0"));
  }
  const schema::StoredRecord kept = only_record();
  const auto trace = schema::StoreReader(folder.path()).trace_of(kept);
  ASSERT_TRUE(trace);
  schema::TraceReader reader(folder.path());
  const std::vector<TracePiece> pieces = pieces_named_in(*trace);
  ASSERT_EQ(pieces.size(), 2U);
  for (const TracePiece& piece : pieces)
    EXPECT_TRUE(read_piece(reader, kept.record.start_position, piece));
  EXPECT_FALSE(schema::verify(folder.path(), true).first_bad);
}

TEST_F(TracePieces, WithoutPiecesTheVoidRecordHasNoTraceAsEver) {
  {
    schema::StoreWriter writer(folder.path());
    const schema::Position at = start(writer);
    keep_broken_off(writer, folder.path(), broken_off_record(start_fact(), at, {}, "1.0"));
  }
  EXPECT_FALSE(only_record().record.trace_sha256);
}

}  // namespace
}  // namespace endgate::daemon
