// What the page of a bench says of its channels.

#include "daemon/views/bench_view.h"

#include <gtest/gtest.h>

namespace endgate::daemon {
namespace {

// By what a notice is about, not by how its sentence happens to be worded.
TEST(BenchView, AChannelIsOverdueWhenANoticeIsAboutIt) {
  BenchTexts texts;
  for (const char* id : {"p", "flow"}) {
    texts.bench.channels.emplace_back().facts.id = id;
    texts.calibration.channels.push_back({id, {}});
    texts.calibration.channel_notes.emplace_back().due = "2026-01-31";
  }
  const std::vector<UpkeepNotice> notices{
      {.code = "B-312", .sentence = "Calibrate it, then p once more.", .subject = "flow"}};
  const BenchKept kept;
  const std::vector<schema::Definition> calibrations;
  const BenchLive live;
  const reports::BenchPage page = bench_page_of({texts, kept, notices, calibrations, live});
  ASSERT_EQ(page.channels.size(), 2U);
  EXPECT_FALSE(page.channels[0].overdue);
  EXPECT_TRUE(page.channels[1].overdue);
}

}  // namespace
}  // namespace endgate::daemon
