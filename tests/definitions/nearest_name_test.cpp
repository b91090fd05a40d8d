#include "daemon/definitions/nearest_name.h"

#include <gtest/gtest.h>

#include <vector>

namespace endgate::daemon {
namespace {

const std::vector<std::string> kKnown{"scale_si", "offset_si", "range_min_si", "lag_s"};

TEST(NearestName, FindsAMissingDoubledOrExchangedLetter) {
  EXPECT_EQ(nearest_name("scal_si", kKnown), "scale_si");
  EXPECT_EQ(nearest_name("offfset_si", kKnown), "offset_si");
  EXPECT_EQ(nearest_name("lga_s", kKnown), "lag_s");
}

TEST(NearestName, SuggestsNothingForAnotherWord) {
  EXPECT_EQ(nearest_name("manufacturer", kKnown), "");
  EXPECT_EQ(nearest_name("x", {}), "");
}

}  // namespace
}  // namespace endgate::daemon
