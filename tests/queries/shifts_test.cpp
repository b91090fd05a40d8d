// In which shift a test was stopped.

#include "daemon/queries/shifts.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "daemon/queries/population_words.h"
#include "tests/support/stopped_test.h"
#include "tests/support/temporary_folder.h"
#include "tests/support/zone.h"

namespace endgate::daemon {
namespace {

using test::Zone;

constexpr std::int64_t kMidnight = 1795564800000;  // 2026-11-25 00:00 UTC
constexpr std::int64_t kHourMs = 3600000;
const ShiftPlan kThree{{360, 840, 1320}};

TEST(Shifts, BeginAtTheirMinuteAndTheLastGoesOnOverMidnight) {
  const Zone zone("UTC");
  EXPECT_EQ(shift_at(kThree, kMidnight), "22:00 to 06:00");
  EXPECT_EQ(shift_at(kThree, kMidnight + 6 * kHourMs - 1), "22:00 to 06:00");
  EXPECT_EQ(shift_at(kThree, kMidnight + 6 * kHourMs), "06:00 to 14:00");
  EXPECT_EQ(shift_at(kThree, kMidnight + 21 * kHourMs), "14:00 to 22:00");
  EXPECT_EQ(shift_at(kThree, kMidnight + 23 * kHourMs), "22:00 to 06:00");
  EXPECT_EQ(shift_at({}, kMidnight), "");
}

TEST(Shifts, AreThoseOfThePlantsTimeZone) {
  const Zone zone("EST5");
  EXPECT_EQ(shift_at(kThree, kMidnight + 6 * kHourMs), "22:00 to 06:00");
  EXPECT_EQ(shift_at(kThree, kMidnight + 11 * kHourMs), "06:00 to 14:00");
}

TEST(Shifts, OneBeginIsAWholeDay) {
  const Zone zone("UTC");
  EXPECT_EQ(shift_at({{360}}, kMidnight), "06:00 to 06:00");
  EXPECT_EQ(shift_at({{360}}, kMidnight + 7 * kHourMs), "06:00 to 06:00");
}

// The clock on the wall counts: on 2026-10-25 it went back from three to two.
TEST(Shifts, FollowTheClockWhereItIsChanged) {
  const Zone zone("CET-1CEST,M3.5.0,M10.5.0/3");
  constexpr std::int64_t kFiveUtc = 1792904400000;  // 2026-10-25 05:00 UTC, 06:00 of the clock
  EXPECT_EQ(shift_at(kThree, kFiveUtc - 1), "22:00 to 06:00");
  EXPECT_EQ(shift_at(kThree, kFiveUtc), "06:00 to 14:00");
  EXPECT_EQ(shift_at(kThree, kFiveUtc - 24 * kHourMs), "06:00 to 14:00") << "07:00 the day before";
}

TEST(Shifts, StopsAreToldByBenchShiftAndPerson) {
  const Zone zone("UTC");
  const test::TemporaryFolder folder;
  {
    schema::StoreWriter writer(folder.path());
    test::keep_stopped(writer, "A", kMidnight + 8 * kHourMs);
    test::keep_stopped(writer, "B", kMidnight + 9 * kHourMs);
    test::keep_stopped(writer, "C", kMidnight + 23 * kHourMs);
  }
  const schema::StoreReader reader(folder.path());
  const YieldTold told = yield_of(reader, {.model = "P1-60-12"}, kThree);
  ASSERT_EQ(told.stops.size(), 2U);
  EXPECT_EQ(told.stops[0].shift, "06:00 to 14:00");
  EXPECT_EQ(told.stops[0].stopped.count, 2);
  EXPECT_EQ(stops_of_whom(told.stops[1]), "bench north, shift 22:00 to 06:00, Ada");
  EXPECT_EQ(shifts_words(told), "");
}

TEST(Shifts, ThatNobodyStatedAreNotToldAndThatIsSaid) {
  const test::TemporaryFolder folder;
  {
    schema::StoreWriter writer(folder.path());
    test::keep_stopped(writer, "A", kMidnight);
  }
  const YieldTold told = yield_of(schema::StoreReader(folder.path()), {.model = "P1-60-12"});
  ASSERT_EQ(told.stops.size(), 1U);
  EXPECT_EQ(stops_of_whom(told.stops[0]), "bench north, Ada");
  EXPECT_EQ(words_of(told).back(),
            "Stops are not told by shift: begins of [shifts] in service.toml says when shifts "
            "begin.");
}

}  // namespace
}  // namespace endgate::daemon
