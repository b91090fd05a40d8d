#include "daemon/mapping/keep_broken_off.h"

#include "daemon/mapping/trace_pieces.h"

namespace endgate::daemon {
namespace {

// A damaged trace file must not keep the service from starting: then the record is kept without.
std::vector<TracePiece> pieces_of(const std::filesystem::path& store_folder,
                                  schema::Position start) {
  std::vector<TracePiece> pieces;
  try {
    schema::TraceReader reader(store_folder);
    for (const schema::TraceReader::Found& found : reader.all_of(start))
      pieces.push_back(piece_of(found));
  } catch (const schema::StoreFault&) {
    return {};
  }
  return pieces;
}

std::string sentence_of(std::size_t pieces) {
  return "The service ended during this run; " + std::to_string(pieces) +
         (pieces == 1 ? " piece of its trace is" : " pieces of its trace are") +
         " kept, nothing was judged.";
}

}  // namespace

void keep_broken_off(schema::StoreWriter& writer, const std::filesystem::path& store_folder,
                     schema::Record record) {
  const std::vector<TracePiece> pieces = pieces_of(store_folder, record.start_position);
  if (pieces.empty()) {
    writer.append(std::move(record), std::nullopt);
    return;
  }
  analysis::RawTrace nothing;
  nothing.break_off = analysis::BreakOff::daemon_restarted;
  nothing.break_off_detail = sentence_of(pieces.size());
  for (schema::ReasonGiven& reason : record.reasons) reason.sentence = nothing.break_off_detail;
  writer.append(std::move(record), stored_long_trace_of(nothing, pieces));
}

}  // namespace endgate::daemon
