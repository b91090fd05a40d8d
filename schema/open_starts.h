// Which tests were begun and never kept, without reading every test?
//
// Now and then the store signs a head for the cause `complete`: every start up to there has its
// record.  What is open can only lie behind it.  A store of an earlier version has no such mark
// and is read as a whole, once.

#pragma once

#include <set>

#include "schema/facts.h"
#include "schema/sqlite_handle.h"

namespace endgate::schema {

// Every start up to here has its record; 0: not known.
[[nodiscard]] Position complete_up_to(const Database& database);

// Parameter: complete_up_to.  Columns position, bytes of the starts without a record.
inline constexpr const char* kOpenStarts =
    "SELECT f.position, f.bytes FROM fact f WHERE f.position > ? AND f.kind = 3"
    " AND NOT EXISTS(SELECT 1 FROM record r WHERE r.start_position = f.position)"
    " ORDER BY f.position";

// Follows what a writer appends, so that it knows how far the store is complete.
class OpenStarts {
 public:
  explicit OpenStarts(const Database& database);
  void began(Position start) { open_.insert(start); }
  void kept(Position start) { open_.erase(start); }
  [[nodiscard]] Position complete(Position last) const {
    return open_.empty() ? last : *open_.begin() - 1;
  }

 private:
  std::set<Position> open_{};
};

}  // namespace endgate::schema
