// How do tests of one model lie side by side, column by column?
//
// A segment holds up to kSegmentRows tests in order of position.  Columns of integers hold numbers
// or ids of names (0: none), columns of reals SI values (NaN: missing); a column that no test of
// the segment filled is absent.  Columns of a metric are called "fad_400/value".

#pragma once

#include <map>
#include <string>
#include <string_view>
#include <vector>

#include "schema/trend_test.h"

namespace endgate::schema {

inline constexpr std::size_t kSegmentRows = 1024;

// Texts that come again and again, by number from 1; the empty text is 0.
class TrendNames {
 public:
  std::int64_t id_of(std::string_view text);
  [[nodiscard]] std::string_view text_of(std::int64_t id) const;  // StoreFault::damaged
  [[nodiscard]] std::int64_t known(std::string_view text) const;  // -1: not known
  void add(std::string text);                                     // the next number
  [[nodiscard]] std::size_t size() const { return texts_.size(); }

 private:
  std::map<std::string, std::int64_t, std::less<>> ids_{};
  std::vector<const std::string*> texts_{};  // into the keys of ids_
};

// What a column holds follows from its name.
enum class ColumnKind { integers, reals, texts };
[[nodiscard]] ColumnKind kind_of_column(std::string_view name);

struct TrendSegment {
  std::size_t rows = 0;
  std::map<std::string, std::vector<std::int64_t>, std::less<>> integers{};
  std::map<std::string, std::vector<double>, std::less<>> reals{};
  std::vector<std::string> serials{};

  void append(const StoredRecord& stored, TrendNames& names);
  // Visits every row, with what it says of `metric`.
  void for_each(std::string_view model, std::string_view metric, const TrendNames& names,
                const VisitTest& visit) const;
};

// Columns that TrendSegment::for_each reads.
[[nodiscard]] std::vector<std::string> columns_read(std::string_view metric);

}  // namespace endgate::schema
