// Which lots of parts does a test's unit hold?  Those of its batch; those stated for the unit and
// those that a repair built in, from then on, win: the newest of a part.
//
// Few units have lots of their own, and a store of a million tests is not asked about each.

#pragma once

#include <map>
#include <set>
#include <string>
#include <string_view>
#include <vector>

#include "schema/store.h"
#include "schema/trend_test.h"

namespace endgate::daemon {

class LotBook {
 public:
  using Lots = std::map<std::string, std::string>;  // by part

  explicit LotBook(const schema::StoreReader& store);  // which outlives it

  // Good until the next call.
  [[nodiscard]] const Lots& of(const schema::TrendTest& test);
  // "R-118" of any part, "reed=R-118" of that one.
  [[nodiscard]] bool holds(const schema::TrendTest& test, const std::string& lot);

 private:
  struct BuiltIn {
    schema::Position position = 0;
    std::vector<schema::PartLot> parts{};
  };

  const Lots& of_batch(std::string_view batch);
  [[nodiscard]] std::vector<BuiltIn> built_into(const schema::TrendTest& test) const;

  const schema::StoreReader& store_;
  std::set<std::string, std::less<>> units_;
  std::map<std::string, std::vector<BuiltIn>, std::less<>> repaired_{};  // by serial
  std::map<std::string, Lots, std::less<>> batches_{};
  Lots unit_{};  // of the unit asked for last
};

}  // namespace endgate::daemon
