// Stops are told by the shifts that the service was told of, as JSON and on the page.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/service/served.h"
#include "tests/support/stopped_test.h"
#include "tests/support/temporary_folder.h"
#include "tests/support/zone.h"

namespace endgate::test {
namespace {

using testing::HasSubstr;

constexpr std::int64_t kEightInTheMorning = 1795593600000;  // 2026-11-25 08:00 UTC

TEST(ShiftsServed, AreThoseOfTheService) {
  const Zone zone("UTC");
  const TemporaryFolder folder;
  {
    schema::StoreWriter writer(folder.path());
    keep_stopped(writer, "A", kEightInTheMorning);
  }
  Served served{folder.path().string()};
  const std::string yield = "/api/v1/yield?model=P1-60-12";
  EXPECT_THAT(body_of(served.get(yield)), HasSubstr("\"shift\":null"));
  served.application.begin_shifts_at({360, 840, 1320});
  EXPECT_THAT(body_of(served.get(yield)), HasSubstr("\"shift\":\"06:00 to 14:00\""));
  EXPECT_THAT(body_of(served.get(yield)), HasSubstr("\"shifts_stated\":true"));
  EXPECT_THAT(body_of(served.get("/population?model=P1-60-12")), HasSubstr("06:00 to 14:00"));
}

}  // namespace
}  // namespace endgate::test
