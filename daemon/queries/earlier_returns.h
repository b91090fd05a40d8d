// What did earlier returns of that age show, against their own birth tests?
//
// Of the same model, back before this test, with a stated time in use between half and twice that
// of this unit, each by its first test as returned that was not void, if it was not repaired
// before. Their changes since birth are told from the 10th to the 90th percentile, so that a
// further unit like them lies between with a chance of 80 %; below kFewestOfAnAge not at all.  Their
// changes are as measured: a meter that drifted one way shifts the band, and the words say so.

#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "daemon/queries/against_birth.h"

namespace endgate::daemon {

inline constexpr std::size_t kFewestOfAnAge = 9;
inline constexpr std::size_t kReturnsLookedAt = 200;  // the newest; each record is decoded

struct EarlierReturns {
  double months = 0;  // this unit's
  std::size_t units = 0;
  struct Band {
    std::string metric{};
    std::size_t units = 0;
    double low = 0, middle = 0, high = 0;  // of the changes, SI; with kFewestOfAnAge units or more
    [[nodiscard]] bool told() const { return units >= kFewestOfAnAge; }
  };
  std::vector<Band> bands{};
};
// Nothing: the unit had not come back before this test, was repaired since, or its time in use is
// not stated.
[[nodiscard]] std::optional<EarlierReturns> earlier_returns(const schema::StoreReader& store,
                                                            const UnitHistory& unit,
                                                            const schema::StoredRecord& later);

// The newest test of a unit against its birth, and beside it what earlier returns showed.
struct BirthCompared {
  std::int64_t attempt = 0;  // of the newest test
  AgainstBirth against{};    // what the benches read differently is taken out
  std::optional<EarlierReturns> earlier{};
};
// Nothing: no test, no birth test, or none since.
[[nodiscard]] std::optional<BirthCompared> compared_with_birth(const schema::StoreReader& store,
                                                               const UnitHistory& unit);

// "7 units of this model came back after between 3 and 12 months" or that they are too few.
[[nodiscard]] std::string words_of(const EarlierReturns& earlier);

[[nodiscard]] const EarlierReturns::Band* band_of(const EarlierReturns& earlier,
                                                  const std::string& metric);

}  // namespace endgate::daemon
