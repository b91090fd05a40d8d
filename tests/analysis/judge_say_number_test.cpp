// analysis/say_number.h, contract lines SN-1 ... SN-3.

#include <gtest/gtest.h>

#include <array>
#include <clocale>
#include <cmath>

#include "analysis/say_number.h"

namespace endgate::analysis {
namespace {

TEST(SayNumber, AnUncertaintyHasOneDigitOrTwoIfItsFirstIsOneOrTwo_SN1) {
  EXPECT_EQ(places_for(0.564, 0), 1);   // 0.6
  EXPECT_EQ(places_for(0.2946, 0), 2);  // 0.29
  EXPECT_EQ(places_for(0.0123, 0), 3);  // 0.012
  EXPECT_EQ(places_for(3.4, 0), 0);     // 3
  EXPECT_EQ(places_for(14.2, 0), 0);    // 14
  EXPECT_EQ(places_for(34.2, 0), -1);   // 30
  EXPECT_EQ(places_for(0.1, 0), 2);     // 0.10
  EXPECT_EQ(places_for(1e-30, 0), 15);  // no more than a double has
}

TEST(SayNumber, WithoutAnUncertaintyTheMetricsOwnPlacesAreUsed) {
  EXPECT_EQ(places_for(0, 2), 2);
  EXPECT_EQ(places_for(std::nan(""), 1), 1);
  EXPECT_EQ(places_for(HUGE_VAL, 1), 1);
}

TEST(SayNumber, RoundsToItsPlaces) {
  EXPECT_EQ(say_number(42.149, 1), "42.1");
  EXPECT_EQ(say_number(42.15001, 1), "42.2");
  EXPECT_EQ(say_number(42, 1), "42.0");
  EXPECT_EQ(say_number(1234.0, -1), "1\u00A0230");
  EXPECT_EQ(say_number(4.0, -1), "0");
}

TEST(SayNumber, GroupsThousandsFromFourDigitsOn) {
  EXPECT_EQ(say_number(999, 0), "999");
  EXPECT_EQ(say_number(2900, 0), "2\u00A0900");
  EXPECT_EQ(say_number(1234567.5, 1), "1\u00A0234\u00A0567.5");
}

TEST(SayNumber, AMinusIsAMinusSignAndZeroHasNone_SN3) {
  EXPECT_EQ(say_number(-1.5, 1), "\u22121.5");
  EXPECT_EQ(say_number(-0.04, 1), "0.0");
  EXPECT_EQ(say_number(-0.0, 1), "0.0");
}

TEST(SayNumber, HugeTinyAndNonNumbersDoNotBreakIt) {
  EXPECT_EQ(say_number(std::nan(""), 1), "not a number");
  EXPECT_EQ(say_number(HUGE_VAL, 1), "not a number");
  EXPECT_GT(say_number(1.7e308, 15).size(), 300u);
  EXPECT_EQ(say_number(5e-324, 15), "0.000000000000000");
}

TEST(SayNumber, ABoundIsSaidAsItWasWritten) {
  EXPECT_EQ(say_bound(44, 1), "44.0");
  EXPECT_EQ(say_bound(44.25, 1), "44.25");
  EXPECT_EQ(say_bound((44.1 / 60000) * 60000, 1), "44.1");  // back from SI
  EXPECT_EQ(say_bound((44.7 / 6e7) * 6e7, 0), "44.7");
  EXPECT_EQ(say_bound(2750, -1), "2\u00A0750");
  EXPECT_EQ(say_bound(0, 1), "0.0");
  EXPECT_EQ(say_bound(-3.5, 0), "\u22123.5");
}

TEST(SayNumber, DigitsAreAddedUntilTheValueShowsItsTrueSide_SN2) {
  const std::array bound{44.0};
  EXPECT_EQ(places_apart(43.5, 1, bound), 1);
  EXPECT_EQ(places_apart(43.96, 1, bound), 2);  // 44.0 would read as the bound itself
  EXPECT_EQ(places_apart(43.9996, 1, bound), 4);
  EXPECT_EQ(places_apart(44.04, 1, bound), 2);
}

TEST(SayNumber, AfterFourMoreDigitsItIsAtTheBound_SN2) {
  EXPECT_EQ(places_apart(44.0 - 1e-9, 1, std::array{44.0}), std::nullopt);
  EXPECT_EQ(places_apart(44.0, 1, std::array{44.0}), std::nullopt);
  EXPECT_EQ(places_apart(44.0 + 1e-9, 1, std::array{44.0}), std::nullopt);
}

TEST(SayNumber, RoundingMayNotJumpAcrossABound_SN2) {
  // 43.96 rounds to 44.0, which is above the bound 43.97 that it missed.
  EXPECT_EQ(places_apart(43.96, 1, std::array{43.97}), 2);
}

TEST(SayNumber, TheLocaleChangesNothing) {
  const char* before = std::setlocale(LC_ALL, "de_DE.UTF-8");
  EXPECT_EQ(say_number(42.15001, 1), "42.2");
  if (before != nullptr) std::setlocale(LC_ALL, "C");
}

TEST(SayNumber, ASentenceStartsWithACapital) {
  EXPECT_EQ(capitalised("flow at 400"), "Flow at 400");
  EXPECT_EQ(capitalised("\u00B1 3"), "\u00B1 3");
  EXPECT_EQ(capitalised(""), "");
}

TEST(SayNumber, NeverSaysThatAProbabilityIsCertain_SN4) {
  EXPECT_EQ(say_probability(1), "over 99\u00A0%");
  EXPECT_EQ(say_probability(0.994), "over 99\u00A0%");
  EXPECT_EQ(say_probability(0.99), "99\u00A0%");
  EXPECT_EQ(say_probability(0.42), "42\u00A0%");
  EXPECT_EQ(say_probability(0.009), "under 1\u00A0%");
  EXPECT_EQ(say_probability(0), "under 1\u00A0%");
}

}  // namespace
}  // namespace endgate::analysis
