// Which B-trees of truth did some commits write to, and how many pages of each?  Read from the log
// of a ShimVfs (`keep_log`), counted, not timed.

#pragma once

#include <filesystem>
#include <map>
#include <string>
#include <vector>

#include "schema/sqlite_handle.h"
#include "tests/support/shim_vfs.h"

namespace endgate::test {

// Page numbers in the log: the first four bytes of each frame's head.
inline std::vector<std::int64_t> pages_logged(const ShimVfs& shim) {
  constexpr std::size_t kFrameHead = 24;
  std::vector<std::int64_t> pages;
  for (const ShimVfs::Operation& done : shim.log) {
    if (done.file != "records.db-wal" || done.bytes.size() != kFrameHead) continue;
    std::int64_t page = 0;
    for (std::size_t i = 0; i < 4; ++i) page = page << 8 | static_cast<std::uint8_t>(done.bytes[i]);
    pages.push_back(page);
  }
  return pages;
}

// "record, leaf" -> pages.  An overflow page holds what of a long row does not fit into a leaf.
inline std::map<std::string, int> pages_by_tree(const std::filesystem::path& store,
                                                const std::vector<std::int64_t>& pages) {
  const schema::Database database(store / "records.db", schema::Database::Mode::read_only);
  const schema::Statement statement(database, "SELECT pageno, name, pagetype FROM dbstat");
  std::map<std::int64_t, std::string> tree;
  for (schema::Rows rows = statement.query({}); rows.next();)
    tree[rows.integer(0)] = rows.text(1) + ", " + rows.text(2);
  std::map<std::string, int> count;
  for (const std::int64_t page : pages) ++count[tree[page]];
  return count;
}

}  // namespace endgate::test
