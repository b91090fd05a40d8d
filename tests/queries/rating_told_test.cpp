// The curve of a data sheet: numbers of the tables, batches, skew values.

#include "daemon/queries/rating_told.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>

#include "tests/support/batch_history.h"

namespace endgate::daemon {
namespace {

using testing::HasSubstr;

// Fifty values about 8e-4, evenly spread.
double even(int i) { return 8e-4 + 7e-7 * (i - 24.5); }

RatingTold rating(const test::BatchHistory& history, const statistics::Coverage& coverage) {
  return rating_of(history.reader(), {.model = "P1-60-12"}, coverage);
}

TEST(Rating, TheBoundIsMeanLessTheTablesFactorTimesTheScatter) {
  test::BatchHistory history;
  for (int i = 0; i < 50; ++i)
    history.keep("U" + std::to_string(i), "b" + std::to_string(i % 5), "north", "production", 1,
                 even(i * 7 % 50));
  const RatingTold told = rating(history, {0.99, 0.95});
  ASSERT_EQ(told.points.size(), 1U);
  const RatingPoint& point = told.points[0];
  EXPECT_EQ(point.pressure_gauge_pa, 400e3);
  EXPECT_NEAR(point.told.mean, 8e-4, 1e-12);
  EXPECT_NEAR(point.told.effective_n, 50, 1e-9) << "these batches do not resemble themselves";
  // k1 = 2.86245 for 50 units, 99 %, 95 % (ISO 16269-6, as common tables print it).
  EXPECT_NEAR(*point.lower_m3_s, 8e-4 - 2.86245 * point.told.sigma_overall, 1e-10);
  EXPECT_EQ(*point.whole_m3_s, *point.lower_m3_s) << "one pressure is the whole curve";
  EXPECT_FALSE(point.by_order);
}

TEST(Rating, WordsRoundTowardsLessAndSayWhatTheBoundIs) {
  test::BatchHistory history;
  history.make({});
  const RatingTold told = rating(history, {0.95, 0.95});
  std::string words;
  for (const std::string& line : words_of(told)) words += line + "\n";
  EXPECT_THAT(words, HasSubstr("A data sheet of P1-60-12 may promise at least, L/min: "));
  EXPECT_THAT(words, HasSubstr("at all pressures at once by 95 % of units (confidence 95 %)"));
  EXPECT_THAT(words, HasSubstr("at one pressure hold at that pressure alone"));
  EXPECT_THAT(words, HasSubstr("whatever the correlation along the curve"));
  EXPECT_EQ(promised_number(46.19e-3 / 60), "46.1");
  EXPECT_EQ(promised_number(std::nullopt), "none");
}

TEST(Rating, ThePromiseIsTheWholeCurveLessWhatAllTestsShare) {
  test::BatchHistory history;
  history.make({});
  const RatingPoint point = rating(history, {0.95, 0.95}).points.at(0);
  ASSERT_TRUE(point.promise_m3_s());
  EXPECT_NEAR(*point.whole_m3_s - *point.promise_m3_s(), 2 * 0.009 * 8e-4, 5e-7)
      << "the calibration's part of the made tests, k = 2";
  RatingPoint unknown = point;
  unknown.shared_u = unknown.test_u = std::nullopt;
  EXPECT_FALSE(unknown.promise_m3_s());
}

TEST(Rating, APromiseBelowTheLimitSaysSo) {
  test::BatchHistory history;
  history.make({});
  RatingTold told = rating(history, {0.95, 0.95});
  EXPECT_FALSE(told.promises_less()) << "at least 42, and far above it";
  told.points[0].told.bounds.lower = *told.points[0].whole_m3_s;
  EXPECT_TRUE(told.promises_less());
  EXPECT_THAT(rating_notes(told).front(), HasSubstr("Below the lower limit in force: "));
}

TEST(Rating, BatchesThatResembleThemselvesLowerTheBound) {
  test::BatchHistory apart, alike;
  for (int i = 0; i < 50; ++i) {
    const std::string serial = "U" + std::to_string(i);
    apart.keep(serial, "b" + std::to_string(i % 5), "north", "production", 1, even(i * 7 % 50));
    alike.keep(serial, "b" + std::to_string(i / 10), "north", "production", 1, even(i));
  }
  const RatingPoint even_batches = rating(apart, {0.99, 0.95}).points[0];
  const RatingPoint odd_batches = rating(alike, {0.99, 0.95}).points[0];
  EXPECT_LT(odd_batches.told.effective_n, 10);
  EXPECT_LT(*odd_batches.lower_m3_s, *even_batches.lower_m3_s - 1e-5);
}

TEST(Rating, SkewValuesTakeTheirOrderOrNoBoundAtAll) {
  const auto skewed = [](int units) {
    test::BatchHistory history;
    for (int i = 0; i < units; ++i)
      history.keep("U" + std::to_string(i), "b" + std::to_string(i % 3), "north", "production", 1,
                   8e-4 - 1e-5 * std::pow(i * 37 % units / static_cast<double>(units), 8));
    return rating(history, {0.95, 0.95});
  };
  const RatingTold few = skewed(40), enough = skewed(100);
  EXPECT_TRUE(few.points.at(0).by_order);
  EXPECT_FALSE(few.points.at(0).lower_m3_s);
  EXPECT_THAT(rating_notes(few).back(), HasSubstr("too few units"));
  EXPECT_THAT(rating_words(few), HasSubstr("none at 400"));
  ASSERT_TRUE(enough.points.at(0).lower_m3_s);
  EXPECT_LT(*enough.points[0].lower_m3_s, 8e-4 - 0.5e-5);
}

TEST(Rating, WithoutUnitsNothingIsPromised) {
  test::BatchHistory history;
  const RatingTold none = rating(history, {0.99, 0.95});
  EXPECT_TRUE(none.points.empty());
  EXPECT_THAT(rating_words(none), HasSubstr("Ten units"));
}

}  // namespace
}  // namespace endgate::daemon
