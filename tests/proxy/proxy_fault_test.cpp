#include "fixtures/proxy/proxy_fault.h"

#include <gtest/gtest.h>

namespace faultproxy {
namespace {

TEST(ProxyFault, IsReadFromOneLine) {
  const auto late = std::get<ProxyFault>(parse_fault("late 250"));
  EXPECT_EQ(late.kind, ProxyFault::Kind::late);
  EXPECT_EQ(late.wait.count(), 250);
  EXPECT_FALSE(late.once);
  const auto byte = std::get<ProxyFault>(parse_fault("once byte 6 9"));
  EXPECT_TRUE(byte.once);
  EXPECT_EQ(byte.at, 6U);
  EXPECT_EQ(byte.value, 9);
  EXPECT_FALSE(byte.sealed);
  EXPECT_TRUE(std::get<ProxyFault>(parse_fault("once sealed byte 0 9")).sealed);
  EXPECT_EQ(std::get<ProxyFault>(parse_fault("more 3")).at, 3U);
}

TEST(ProxyFault, IsRefusedWhenTheLineSaysTooLittleOrTooMuch) {
  for (const char* line : {"", "once", "burn", "sealed", "more", "late", "late x", "late 1 2",
                           "byte 6", "byte 6 256", "stall 1", "cut -1 x"})
    EXPECT_TRUE(std::holds_alternative<ProxyUsage>(parse_fault(line))) << line;
}

}  // namespace
}  // namespace faultproxy
