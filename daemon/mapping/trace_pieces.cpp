#include "daemon/mapping/trace_pieces.h"

#include <algorithm>

#include "daemon/mapping/long_trace_fields.h"
#include "daemon/mapping/trace_of.h"

namespace endgate::daemon {
namespace {

TracePiece made(const std::string& file, const schema::Hash& hash) {
  return {file, {hash.begin(), hash.end()}};
}

}  // namespace

TracePiece piece_of(const schema::StoreWriter::PieceKept& kept) {
  return made(kept.file, kept.sha256);
}

TracePiece piece_of(const schema::TraceReader::Found& found) {
  return made(found.file, found.sha256);
}

schema::Trace stored_long_trace_of(const analysis::RawTrace& digest,
                                   const std::vector<TracePiece>& pieces) {
  schema::Trace stored = stored_trace_of(digest);
  LongTrace marks{digest, pieces};
  marks.marks.channels.clear();
  stored.marks = schema::encode_document(schema::kLongMarksKind, marks);
  return stored;
}

std::vector<TracePiece> pieces_named_in(const schema::Trace& stored) {
  if (!schema::is_long(stored.marks)) return {};
  return schema::decode_document<LongTrace>(schema::kLongMarksKind, stored.marks).pieces;
}

std::optional<analysis::RawTrace> read_piece(schema::TraceReader& reader, schema::Position start,
                                             const TracePiece& piece) {
  schema::Hash hash{};
  std::copy_n(piece.sha256.begin(), std::min(piece.sha256.size(), hash.size()), hash.begin());
  const auto bytes = reader.bytes_of(piece.file, start, hash);
  if (!bytes) return std::nullopt;
  const schema::Trace stored = schema::decode(*bytes);
  if (schema::hash_of(stored) != hash)
    throw schema::StoreFault(schema::StoreFault::Kind::damaged,
                             "a piece of a trace in " + piece.file +
                                 " is not the one that was kept; run `endgate verify`");
  return raw_trace_of(stored);
}

}  // namespace endgate::daemon
