#include "schema/open_starts.h"

namespace endgate::schema {

Position complete_up_to(const Database& database) {
  const Statement statement(database,
                            "SELECT position FROM signed_head WHERE cause = 'complete'"
                            " ORDER BY id DESC LIMIT 1");
  Rows rows = statement.query({});
  return rows.next() ? rows.integer(0) : 0;
}

OpenStarts::OpenStarts(const Database& database) {
  const Statement statement(database, kOpenStarts);
  for (Rows rows = statement.query({complete_up_to(database)}); rows.next();)
    open_.insert(rows.integer(0));
}

}  // namespace endgate::schema
