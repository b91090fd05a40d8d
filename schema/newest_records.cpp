#include "schema/newest_records.h"

#include <algorithm>

#include "schema/sqlite_handle.h"

namespace endgate::schema {

std::vector<Position> newest_records(const StoreReader& store, std::size_t count,
                                     const std::string& model, Position behind) {
  const Database database(store.folder() / "records.db", Database::Mode::read_only);
  const auto limit = static_cast<std::int64_t>(count);
  const std::string of_model = model.empty() ? "" : "model = ? AND ";
  const Statement statement(database, "SELECT position FROM record WHERE " + of_model +
                                          "position > ? ORDER BY position DESC LIMIT ?");
  std::vector<Value> parameters{behind, limit};
  if (!model.empty()) parameters.insert(parameters.begin(), model);
  std::vector<Position> found;
  for (Rows rows = statement.query(parameters); rows.next();) found.push_back(rows.integer(0));
  std::ranges::reverse(found);
  return found;
}

}  // namespace endgate::schema
