#include "schema/every_entry.h"

#include "schema/store_reader_impl.h"

namespace endgate::schema {
namespace {

template <class Kind>
std::vector<Kept<Kind>> every(const StoreReader& store, const std::string& table) {
  Database database(store.folder() / "records.db", Database::Mode::read_only);
  database.give_up_at(store.deadline());
  const Statement statement(database, "SELECT f.position, f.bytes FROM " + table +
                                          " x JOIN fact f ON f.position = x.position WHERE " +
                                          kNotWithdrawn + " ORDER BY x.position");
  std::vector<Kept<Kind>> found;
  for (Rows rows = statement.query({}); rows.next();)
    found.push_back({rows.integer(0), decode_as<Kind>(rows.bytes(1))});
  return found;
}

}  // namespace

std::vector<Kept<ReturnIntake>> every_return(const StoreReader& store) {
  return every<ReturnIntake>(store, "return_intake");
}

std::vector<Kept<Repair>> every_repair(const StoreReader& store) {
  return every<Repair>(store, "repair");
}

}  // namespace endgate::schema
