#include "daemon/links/scpi_answer.h"

#include <gtest/gtest.h>

#include <cmath>

namespace endgate::daemon {
namespace {

TEST(ScpiAnswer, ReadsTheThreeNumberForms) {
  EXPECT_EQ(number_in("12", "{number}"), 12);
  EXPECT_EQ(number_in(" -0.50\r", "{number}"), -0.5);
  EXPECT_EQ(number_in("+1.25E+01", "{number}"), 12.5);
}

TEST(ScpiAnswer, TakesTheNumberFromItsPlaceInTheText) {
  EXPECT_EQ(number_in("VOLT 12.5 V", "VOLT {number} V"), 12.5);
  EXPECT_EQ(number_in("1,2,3", "*,{number},*"), 2);
  EXPECT_EQ(number_in("1,2,3", "*,*,{number}"), 3);
  EXPECT_EQ(number_in("P=7 kPa; ok", "P={number} *; ok"), 7);
}

TEST(ScpiAnswer, RefusesWhatDoesNotFit) {
  for (const char* answer : {"", "VOLT", "VOLT x V", "VOLT 12 A", "12 V", "VOLT 12 V;"})
    EXPECT_FALSE(number_in(answer, "VOLT {number} V")) << answer;
  EXPECT_FALSE(number_in("12,5", "{number}")) << "a decimal comma is two numbers";
  EXPECT_FALSE(number_in("12", "no place for it"));
}

TEST(ScpiAnswer, TakesInfiniteAndNotANumberForNoMeasurement) {
  for (const char* answer : {"9.91E37", "9.9E37", "-9.9E+37", "1e999", "nan", "inf"}) {
    const auto number = number_in(answer, "{number}");
    ASSERT_TRUE(number) << answer;
    EXPECT_TRUE(std::isnan(*number)) << answer;
  }
}

TEST(ScpiAnswer, ReadsErrorNumbers) {
  EXPECT_EQ(error_number_in("0,\"No error\""), 0);
  EXPECT_EQ(error_number_in("+0"), 0);
  EXPECT_EQ(error_number_in("-113,\"Undefined header\""), -113);
  EXPECT_FALSE(error_number_in("no"));
  EXPECT_FALSE(error_number_in("0x"));
  EXPECT_FALSE(error_number_in(""));
}

}  // namespace
}  // namespace endgate::daemon
