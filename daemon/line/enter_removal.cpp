#include "daemon/line/enter_removal.h"

#include <sstream>
#include <vector>

#include "daemon/line/wall_clock.h"
#include "schema/store.h"

namespace endgate::daemon {
namespace {

constexpr const char* kRemovalCode = "U-246";

std::vector<schema::TraceRemoved> removals_in(Entry& entry) {
  const schema::TraceRemoved like{.policy = entry.need("policy", "by which policy"),
                                  .by = entry.need("by", "who removes them"),
                                  .at = wall_clock_now()};
  std::istringstream in(entry.need("records", "the positions of the records"));
  std::vector<schema::TraceRemoved> removals;
  for (schema::Position record = 0; in >> record;) {
    removals.push_back(like);
    removals.back().record = record;
  }
  if (!in.eof()) entry.complain("Positions are whole numbers with blanks between them.");
  if (removals.size() > kRemovalsAtOnce)
    entry.complain("At most " + std::to_string(kRemovalsAtOnce) + " removals at once.");
  return removals;
}

}  // namespace

Application::Entered enter_removal(schema::StoreWriter& writer, const EntryFields& fields) try {
  Entry entry(fields);
  const auto read = entry.answer(removals_in(entry), kRemovalCode);
  if (const auto* refusal = std::get_if<CommandRefusal>(&read)) return *refusal;
  const auto& removals = std::get<0>(read);
  const schema::Position last = writer.append(std::span<const schema::TraceRemoved>(removals));
  return Application::Accepted{std::to_string(removals.size()) + " removals (position " +
                               std::to_string(last) + ")"};
} catch (const schema::StoreFault& fault) {
  if (fault.kind() != schema::StoreFault::Kind::refused) throw;
  return nothing_kept(kRemovalCode, std::string(fault.what()) + ".");
}

}  // namespace endgate::daemon
