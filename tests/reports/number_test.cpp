#include "reports/number.h"

#include <gtest/gtest.h>

#include <charconv>
#include <clocale>
#include <cmath>
#include <random>

namespace endgate::reports {
namespace {

std::string with_plain_space(std::string text) {
  for (std::size_t at = text.find(kNoBreak); at != std::string::npos; at = text.find(kNoBreak))
    text.replace(at, 2, " ");
  return text;
}

double number_in(std::string text) {
  for (std::size_t at = text.find(kNoBreak); at != std::string::npos; at = text.find(kNoBreak))
    text.erase(at, 2);
  const bool negative = text.starts_with("−");
  if (negative) text.erase(0, std::string("−").size());
  double value = NAN;
  std::from_chars(text.data(), text.data() + text.size(), value);
  return negative ? -value : value;
}

TEST(Number, GroupsThousandsFromFourDigitsOn) {
  EXPECT_EQ(with_plain_space(fixed(999, 0)), "999");
  EXPECT_EQ(with_plain_space(fixed(2874, 0)), "2 874");
  EXPECT_EQ(with_plain_space(fixed(1234567.891, 1)), "1 234 567.9");
}

TEST(Number, WritesMinusAsItsOwnSignAndNeverMinusZero) {
  EXPECT_EQ(fixed(-0.8, 1), "−0.8");
  EXPECT_EQ(fixed(-0.04, 1), "0.0");
  EXPECT_EQ(fixed(-0.0, 2), "0.00");
}

TEST(Number, WritesNothingThatIsNotFinite) {
  EXPECT_EQ(fixed(NAN, 1), kMissing);
  EXPECT_EQ(fixed(INFINITY, 1), kMissing);
}

TEST(Number, ChangesCarryTheirSign) {
  EXPECT_EQ(with_sign(22, 0), "+22");
  EXPECT_EQ(with_sign(-0.8, 1), "−0.8");
  EXPECT_EQ(with_sign(0.001, 1), "0.0");
}

// N-1: rule of the design, "one digit, two if the first is 1 or 2".
TEST(Number, ShowsUncertaintyWithOneDigitOrTwoWhenTheFirstIsOneOrTwo) {
  const auto written = [](double value, double u) {
    return with_plain_space(write_reading({.value = value, .expanded_u = u}).text("L/min"));
  };
  EXPECT_EQ(written(58.69, 0.56), "58.7 ± 0.6 L/min");
  EXPECT_EQ(written(58.69, 0.21), "58.69 ± 0.21 L/min");
  EXPECT_EQ(written(2832.4, 4.3), "2 832 ± 4 L/min");
  EXPECT_EQ(written(2832.4, 14.3), "2 832 ± 14 L/min");
}

TEST(Number, SaysMissingAndUnknownInWords_N3) {
  EXPECT_EQ(write_reading({}).text("A"), kMissing);
  EXPECT_EQ(with_plain_space(write_reading({.value = 58.7, .decimals = 1}).text("A")),
            "58.7 A, uncertainty not known");
  EXPECT_EQ(with_plain_space(write_reading({.value = 58.7, .expanded_u = 0.0}).text("A")),
            "58.7 A, uncertainty not known");
}

TEST(Number, AddsADigitWhenRoundingWouldReachTheLimit_N2) {
  const double bounds[] = {39.5};
  EXPECT_EQ(write_reading({.value = 39.47, .expanded_u = 0.6}, bounds).value, "39.47");
  EXPECT_EQ(write_reading({.value = 39.5, .expanded_u = 0.6}, bounds).value, "39.5");
  EXPECT_EQ(write_reading({.value = 39.53, .expanded_u = 0.6}, bounds).value, "39.53");
}

TEST(Number, SaysAtTheLimitWhenFourMoreDigitsDoNotTell_N2) {
  const double bounds[] = {39.5};
  EXPECT_EQ(write_reading({.value = 39.49999999, .expanded_u = 0.6}, bounds).value, "at the limit");
}

// N-2 as a property: whatever the value, what is read is on the side where the value is.
TEST(Number, NeverPrintsAFailingValueAsItsLimit) {
  std::mt19937_64 random(20261125);
  std::uniform_real_distribution<double> exponent(-3, 4), near(-12, 1), unit(0, 1);
  for (int i = 0; i < 200000; ++i) {
    const double bound = std::round(std::pow(10, exponent(random)) * 1000) / 1000;
    const double gap = bound * std::pow(10, near(random)) * (unit(random) < 0.5 ? -1 : 1);
    const double value = bound + gap;
    const double u = std::pow(10, exponent(random)) * 0.01;
    const double bounds[] = {bound};
    const WrittenReading written = write_reading({.value = value, .expanded_u = u}, bounds);
    if (written.value == "at the limit") continue;
    const double read = number_in(written.value);
    const double read_bound = number_in(bound_text(bound, decimals_of_uncertainty(u)));
    ASSERT_EQ(value < bound, read < read_bound) << value << " " << bound << " " << written.value;
    ASSERT_EQ(value > bound, read > read_bound) << value << " " << bound << " " << written.value;
  }
}

TEST(Number, WritesABoundWithTheDigitsItNeeds) {
  EXPECT_EQ(bound_text(44, 1), "44.0");
  EXPECT_EQ(bound_text(0.00065833333333333 * 60000, 1), "39.5");
  EXPECT_EQ(bound_text(7.405, 2), "7.405");
}

// The test environment makes this locale for itself (tests/make_locale.sh); LOCPATH says where.
TEST(Number, DoesNotAskTheLocale) {
  const std::string before = std::setlocale(LC_ALL, nullptr);
  ASSERT_NE(std::setlocale(LC_ALL, "de_DE.UTF-8"), nullptr) << "run the tests through ctest";
  ASSERT_STREQ(std::localeconv()->decimal_point, ",") << "the locale must differ to prove anything";
  EXPECT_EQ(fixed(58.7, 1), "58.7");
  std::setlocale(LC_ALL, before.c_str());
}

}  // namespace
}  // namespace endgate::reports
