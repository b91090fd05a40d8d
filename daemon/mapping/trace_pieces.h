// Where is the whole trace of a long run, when its record holds a digest?
//
// A long run hands its trace over in pieces as it goes (daemon/bench/test_run.h); each is a trace
// of its own in the trace file, kept before the next begins.  The trace of the record is the
// digest, and its marks name every piece by file and hash: what the record seals, it seals too.
//
//   marks of a long run = document 102: the marks of a test, then the pieces in order

#pragma once

#include <string>
#include <vector>

#include "analysis/raw_trace.h"
#include "schema/store.h"
#include "schema/trace_files.h"

namespace endgate::daemon {

struct TracePiece {
  std::string file;  // "trace-0001.db"
  std::vector<std::uint8_t> sha256;
};

struct LongTrace {
  analysis::RawTrace marks;  // channels become columns, as ever
  std::vector<TracePiece> pieces;
};

[[nodiscard]] TracePiece piece_of(const schema::StoreWriter::PieceKept& kept);
[[nodiscard]] TracePiece piece_of(const schema::TraceReader::Found& found);

// `digest` as the trace of a record that names these pieces.
[[nodiscard]] schema::Trace stored_long_trace_of(const analysis::RawTrace& digest,
                                                 const std::vector<TracePiece>& pieces);
// Empty for a trace in one piece.
[[nodiscard]] std::vector<TracePiece> pieces_named_in(const schema::Trace& stored);

// One piece as it was kept, hash checked; nothing when its file or the piece is not there.
[[nodiscard]] std::optional<analysis::RawTrace> read_piece(schema::TraceReader& reader,
                                                           schema::Position start,
                                                           const TracePiece& piece);

}  // namespace endgate::daemon
