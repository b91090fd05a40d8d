#include "daemon/definitions/typed_number.h"

#include <gtest/gtest.h>

namespace endgate::daemon {
namespace {

TEST(TypedNumber, IsTheWholeTextAndFinite) {
  EXPECT_EQ(typed_number("44.5"), 44.5);
  EXPECT_EQ(typed_number("-3"), -3);
  EXPECT_EQ(typed_number("1e-3"), 1e-3);
  for (const char* none :
       {"", " ", "44,5", "44.5 kPa", " 44.5", "+1", "nan", "-inf", "inf", "1e999", "0x10", "--1"})
    EXPECT_FALSE(typed_number(none) || plain_number(none)) << none;
  EXPECT_EQ(plain_number("44.5"), 44.5);
  EXPECT_FALSE(plain_number("1e3"));
}

}  // namespace
}  // namespace endgate::daemon
