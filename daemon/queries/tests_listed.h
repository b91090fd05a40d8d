// Which tests are there, newest first, page by page: of a model, batch, bench, purpose, verdict?
//
// The packed columns of trend.db say which match; only those of the page are decoded.  Without that
// file every record is read.

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "daemon/queries/trend_columns.h"

namespace endgate::daemon {

struct ListAsked {
  TrendFilter filter{.purpose = ""};  // an empty model: every one of `models`
  std::string verdict{};              // empty: all
  schema::Position before = 0;        // 0: from the newest on
  std::size_t count = 100;
};

struct TestsListed {
  std::vector<schema::StoredRecord> tests{};  // newest first
  std::size_t matching = 0;                   // of all pages
  std::size_t newer = 0;                      // on the pages before
  schema::Position next_before = 0;           // of the next page; 0: this is the last
};
[[nodiscard]] TestsListed tests_listed(const schema::StoreReader& store, const ListAsked& asked,
                                       const std::vector<std::string>& models);

}  // namespace endgate::daemon
