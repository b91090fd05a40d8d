// What may be typed as a draft limit.

#include <gtest/gtest.h>

#include "daemon/views/population_view.h"

namespace endgate::daemon {
namespace {

TEST(DraftView, TakesNumbersAndRefusesWhatIsNone) {
  const DraftRead read = read_draft("fad_400", {.lower = "45"});
  EXPECT_TRUE(read.wrong.empty());
  EXPECT_NEAR(read.limit.lower.value(), 7.5e-4, 1e-12);
  for (const char* none : {"45 L/min", "44,5", "nan", "inf"})
    EXPECT_FALSE(read_draft("fad_400", {.lower = none}).wrong.empty()) << none;
}

}  // namespace
}  // namespace endgate::daemon
