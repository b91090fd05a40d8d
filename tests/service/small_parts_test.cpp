// The pure parts under the server: head scan, targets, rate limit, decimation.

#include <gtest/gtest.h>

#include <random>

#include "daemon/service/head_scan.h"
#include "daemon/service/rate_limit.h"
#include "daemon/service/target.h"
#include "daemon/views/decimate.h"
#include "daemon/views/shown.h"

namespace endgate::daemon {
namespace {

TEST(HeadScan, FindsTheEndOfAHead) {
  const std::string head = "GET / HTTP/1.1\r\nHost: a\r\n\r\n";
  const HeadScan scan = scan_head(head + "left over");
  EXPECT_EQ(scan.state, HeadScan::State::complete);
  EXPECT_EQ(scan.length, head.size());
}

TEST(HeadScan, EveryBeginningOfAGoodHeadIsIncomplete) {
  const std::string head = "POST /a?b=c HTTP/1.1\r\nHost: a\r\nX:\ty\r\n\r\n";
  for (std::size_t size = 0; size < head.size(); ++size)
    EXPECT_EQ(scan_head(head.substr(0, size)).state, HeadScan::State::incomplete) << size;
}

TEST(HeadScan, NeverFailsOnRandomBytes) {
  std::mt19937 random(3);
  const char all[] = "GET /\r\n\t :aA1\0\x7f\xff";
  const std::string letters(all, sizeof all);
  for (int i = 0; i < 100000; ++i) {
    std::string bytes;
    for (auto k = random() % 60; k > 0; --k) bytes += letters[random() % letters.size()];
    const HeadScan scan = scan_head(bytes);
    EXPECT_LE(scan.length, bytes.size());
  }
}

TEST(Target, DecodesPathAndQueryOnce) {
  const auto target = parse_target("/units/QH%202648?by=a%26b&x=1+2&x=3&y");
  ASSERT_TRUE(target);
  EXPECT_EQ(target->path, (std::vector<std::string>{"units", "QH 2648"}));
  EXPECT_EQ(target->query.at("by"), "a&b");
  EXPECT_EQ(target->query.at("x"), "1 2");
  EXPECT_EQ(target->query.at("y"), "");
  EXPECT_EQ(parse_target("/a%2525")->path.front(), "a%25");
}

TEST(Target, RefusesWhatLeadsElsewhere) {
  for (const char* text : {"", "a", "/..", "/.", "/a/%2e%2e", "/a%2fb", "/a%5cb", "/%00", "/%0a",
                           "/%zz", "/%", "/a?b=%ff", "/\xC0\x80"})
    EXPECT_FALSE(parse_target(text)) << text;
}

// Boundaries of well-formed UTF-8: The Unicode Standard, table 3-7.
TEST(Target, KnowsWellFormedUtf8) {
  for (const char* good : {"", "a", "ü", "€", "\xF4\x8F\xBF\xBF"}) EXPECT_TRUE(is_plain_text(good));
  for (const char* bad : {"\x80", "\xC1\xBF", "\xE0\x9F\xBF", "\xED\xA0\x80", "\xF0\x8F\xBF\xBF",
                          "\xF4\x90\x80\x80", "\xC3", "\x1B", "\x7F", "\xC2\x85"})
    EXPECT_FALSE(is_plain_text(bad));
}

TEST(Target, ReadsBackWhatAnAddressPartWrote) {
  for (const std::string text : {"QH2648-0117-K", "a b&c=d/e?f#g%h+i", "ü€"}) {
    const auto target = parse_target("/trends?model=" + address_part(text));
    ASSERT_TRUE(target) << text;
    EXPECT_EQ(target->query.at("model"), text);
  }
}

TEST(RateLimit, GivesBackWithTime) {
  RateLimit limit;
  const RateLimit::Time start{};
  int taken = 0;
  while (limit.allows("a", true, start)) ++taken;
  EXPECT_EQ(taken, 40);
  EXPECT_TRUE(limit.allows("b", true, start)) << "another address is not its fault";
  EXPECT_TRUE(limit.allows("a", false, start)) << "reading is counted by itself";
  EXPECT_FALSE(limit.allows("a", true, start + std::chrono::milliseconds(100)));
  EXPECT_TRUE(limit.allows("a", true, start + std::chrono::milliseconds(400)));
}

TEST(Decimate, LosesNoSpikeAndInventsNothing) {
  std::vector<std::optional<double>> values(10000, 1.0);
  values[7777] = 9.0;
  values[1234] = -5.0;
  const auto pieces = decimate(values, 100);
  ASSERT_EQ(pieces.size(), 100U);
  double low = 1, high = 1;
  for (const DecimatedPiece& piece : pieces) {
    low = std::min(low, *piece.lowest);
    high = std::max(high, *piece.highest);
  }
  EXPECT_EQ(low, -5);
  EXPECT_EQ(high, 9);
}

TEST(Decimate, AShortColumnIsKeptAndAGapStaysAGap) {
  const std::vector<std::optional<double>> values{1.0, std::nullopt, 3.0};
  const auto pieces = decimate(values, 100);
  ASSERT_EQ(pieces.size(), 3U);
  EXPECT_FALSE(pieces[1].lowest);
  EXPECT_EQ(*pieces[2].highest, 3);
  EXPECT_TRUE(decimate({}, 10).empty());
}

}  // namespace
}  // namespace endgate::daemon
