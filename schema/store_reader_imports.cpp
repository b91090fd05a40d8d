// Imported tests one by one, and the files they came from.

#include "schema/store_reader_impl.h"

namespace endgate::schema {

bool StoreReader::for_each_imported_behind(
    Position position, const std::function<bool(const Kept<ImportedTest>&)>& visit) const {
  const Statement statement(impl_->database,
                            std::string("SELECT f.position, f.bytes FROM imported_test x"
                                        " JOIN fact f ON f.position = x.position"
                                        " WHERE x.position > ? AND ") +
                                kNotWithdrawn + " ORDER BY x.position");
  for (Rows rows = statement.query({position}); rows.next();)
    if (!visit({rows.integer(0), decode_as<ImportedTest>(rows.bytes(1))})) return false;
  return true;
}

std::vector<Kept<ImportedTest>> StoreReader::imported_files() const {
  return impl_->ever_kept<ImportedTest>(
      "imported_test", "x.position IN (SELECT MIN(position) FROM imported_test GROUP BY source)",
      {});
}

}  // namespace endgate::schema
