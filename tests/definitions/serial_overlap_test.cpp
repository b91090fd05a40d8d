#include "daemon/definitions/serial_overlap.h"

#include <gtest/gtest.h>

namespace endgate::daemon {
namespace {

TEST(SerialOverlap, IsFoundWhereOneSerialFitsBothPatterns) {
  EXPECT_TRUE(patterns_overlap("QH[0-9]{4}", "QH[0-9]{4}"));
  EXPECT_TRUE(patterns_overlap("QH[0-9]{4}-0[0-9]{3}", "QH[0-9]{4}-[0-1][0-9]{3}"));
  EXPECT_TRUE(patterns_overlap("A[0-9]+", "A[0-9]{3,5}"));
  EXPECT_TRUE(patterns_overlap("A.*", "AB-?[^0-4]"));
  EXPECT_TRUE(patterns_overlap("\\d{2,}X?", "[0-9]*"));
}

TEST(SerialOverlap, IsNotClaimedWhereNoSerialFitsBoth) {
  EXPECT_FALSE(patterns_overlap("QH[0-9]{4}-0[0-9]{3}-[0-9A-Z]", "QH[0-9]{4}-1[0-9]{3}-[0-9A-Z]"));
  EXPECT_FALSE(patterns_overlap("A[0-9]{3}", "A[0-9]{4}"));
  EXPECT_FALSE(patterns_overlap("A[0-9]{3}", "A[0-9]{4,}"));
  EXPECT_FALSE(patterns_overlap("A\\.1", "AB1"));
}

TEST(SerialOverlap, IsNotClaimedOfPatternsWithGroupsButOfEqualOnes) {
  EXPECT_FALSE(patterns_overlap("(A|B)[0-9]", "A[0-9]"));
  EXPECT_TRUE(patterns_overlap("(A|B)[0-9]", "(A|B)[0-9]"));
}

}  // namespace
}  // namespace endgate::daemon
