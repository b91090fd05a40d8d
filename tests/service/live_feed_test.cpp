#include "daemon/service/live_feed.h"

#include <gmock/gmock.h>

#include "tests/service/served.h"

namespace endgate::test {
namespace {

using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;

std::size_t count_of(const std::string& text, const std::string& what) {
  std::size_t count = 0;
  for (std::size_t at = text.find(what); at != std::string::npos; at = text.find(what, at + 1))
    ++count;
  return count;
}

TEST(LiveFeed, TellsOnlyTheNewestStateHoweverManyCameBefore) {
  FakeApplication application;
  application.set(sample_line("running"));
  daemon::LiveFeed feed(application, [] {});
  daemon::LiveListener listener("");
  (void)listener.news(feed);
  for (int i = 0; i < 1000; ++i) {
    daemon::LineState line = sample_line("running");
    line.seconds_left = 1000 - i;
    application.set(line);
  }
  const std::string news = listener.news(feed);
  EXPECT_EQ(count_of(news, "event: line"), 1U);
  EXPECT_THAT(news, HasSubstr("\"1\""));  // the last second, not the first
  EXPECT_THAT(listener.news(feed), IsEmpty());
}

TEST(LiveFeed, MakesAStateOnceForAllListeners) {
  FakeApplication application;
  application.set(sample_line("running"));
  daemon::LiveFeed feed(application, [] {});
  EXPECT_EQ(feed.frame("running"), feed.frame("running"));
}

TEST(LiveFeed, SendsThePictureOnlyWhenItChanged) {
  FakeApplication application;
  application.set(sample_line("running"));
  daemon::LiveFeed feed(application, [] {});
  daemon::LiveListener listener("");
  EXPECT_THAT(listener.news(feed), HasSubstr("event: picture"));
  daemon::LineState line = sample_line("running");
  line.live.values[0].value_si = 403000;
  application.set(line);
  EXPECT_THAT(listener.news(feed), Not(HasSubstr("event: picture")));
  line.so_far.push_back({600e3, 44.7 / 60000});
  application.set(line);
  EXPECT_THAT(listener.news(feed), HasSubstr("event: picture"));
}

TEST(LiveFeed, CanBeAskedForOneBench) {
  FakeApplication application;
  application.set(sample_line("running"));
  application.set(sample_line("free"));
  daemon::LiveFeed feed(application, [] {});
  daemon::LiveListener one("free"), all("");
  EXPECT_EQ(count_of(one.news(feed), "event: line"), 1U);
  EXPECT_EQ(count_of(all.news(feed), "event: line"), 2U);
}

TEST(LiveFeed, KeepsEachEventOnOneDataLine) {
  FakeApplication application;
  daemon::LineState line = sample_line("refused");
  line.message = "two\nlines";
  application.set(line);
  daemon::LiveFeed feed(application, [] {});
  daemon::LiveListener listener("");
  const std::string news = listener.news(feed);
  EXPECT_EQ(count_of(news, "\n"), 6U);
}

TEST(LiveFeed, ReachesAPageOverTheNetworkAndBeatsWhenNothingHappens) {
  Served served;
  RawHttp page(served.server.port());
  page.send("GET /api/v1/live?bench=free HTTP/1.1\r\nHost: " + served.host() + "\r\n\r\n");
  EXPECT_THAT(page.read("event: picture"), HasSubstr("Content-Type: text/event-stream"));
  served.application.set(sample_line("pass"));  // another bench: not for this page
  EXPECT_THAT(page.read("event: beat"), Not(HasSubstr("event: line")));
  daemon::LineState line = sample_line("free");
  line.last_unit = "QH2648-0118-C, fail";
  served.application.set(line);
  EXPECT_THAT(page.read("QH2648-0118-C"), HasSubstr("event: line"));
}

TEST(LiveFeed, SurvivesAPageThatNeverReads) {
  Served served;
  RawHttp sleeping(served.server.port());
  sleeping.send("GET /api/v1/live HTTP/1.1\r\nHost: " + served.host() + "\r\n\r\n");
  for (int i = 0; i < 3000; ++i) {
    daemon::LineState line = sample_line("free");
    line.last_unit = std::string(1000, 'x') + std::to_string(i);
    served.application.set(line);
  }
  EXPECT_EQ(status_of(served.get("/healthz")), 200);
}

}  // namespace
}  // namespace endgate::test
