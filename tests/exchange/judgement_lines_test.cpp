#include "daemon/exchange/judgement_lines.h"

#include <gtest/gtest.h>

#include <cmath>

namespace endgate::daemon {
namespace {

JudgedTest made_test() {
  Judgement kept{.verdict = "pass",
                 .reason = "flow at 400\u00A0kPa is \"good\"",
                 .metrics = {{.id = "fad_400", .value = 9.1e-4 / 3, .u = std::nextafter(5e-6, 1)},
                             {.id = "dead_head"}},
                 .parts = {{"metrics", "0123456789abcdef"}, {"curve", "fedcba9876543210"}}};
  Judgement now = kept;
  now.verdict = "undecided";
  return {.position = 12,
          .serial = "QH2648-0001-A",
          .model = "P1-60-12",
          .bench = "north",
          .attempt = 2,
          .kept = kept,
          .now = now};
}

TEST(JudgementLines, GiveBackEveryNumberInEveryBit) {
  const JudgedTest test = made_test();
  const auto read = judged_test_in(line_of(test));
  ASSERT_TRUE(read);
  EXPECT_EQ(read->position, 12);
  EXPECT_EQ(read->serial, "QH2648-0001-A");
  EXPECT_EQ(read->model, "P1-60-12");
  EXPECT_EQ(read->bench, "north");
  EXPECT_EQ(read->attempt, 2);
  EXPECT_EQ(read->kept.reason, test.kept.reason);
  ASSERT_TRUE(read->now);
  EXPECT_EQ(read->now->verdict, "undecided");
  ASSERT_EQ(read->now->metrics.size(), 2U);
  EXPECT_EQ(read->now->metrics[0].value, test.now->metrics[0].value);
  EXPECT_EQ(read->now->metrics[0].u, test.now->metrics[0].u);
  EXPECT_FALSE(read->now->metrics[1].value) << "missing stays missing";
  EXPECT_EQ(read->now->parts, test.now->parts);
}

TEST(JudgementLines, SayWhyATestWasNotJudgedAgain) {
  JudgedTest test = made_test();
  test.now.reset();
  for (const NotJudged why : {NotJudged::samples_gone, NotJudged::never_judged,
                              NotJudged::no_such_limits, NotJudged::unreadable}) {
    test.not_judged = why;
    const auto read = judged_test_in(line_of(test));
    ASSERT_TRUE(read);
    EXPECT_FALSE(read->now);
    EXPECT_EQ(read->not_judged, why);
  }
}

TEST(JudgementLines, TheFirstLineSaysWhoJudgedWhat) {
  const auto read = judged_by_in(line_of(JudgedBy{"endgate 0.1.0", "ab", kLimitsOfThen}));
  ASSERT_TRUE(read);
  EXPECT_EQ(read->program, "endgate 0.1.0");
  EXPECT_EQ(read->store, "ab");
  EXPECT_EQ(read->limits, kLimitsOfThen);
}

TEST(JudgementLines, WhatIsNoneIsNotRead) {
  const std::string whole = line_of(made_test());
  for (std::size_t length = 0; length < whole.size(); ++length)
    EXPECT_FALSE(judged_test_in(whole.substr(0, length))) << length;
  EXPECT_FALSE(judged_test_in("[]"));
  EXPECT_FALSE(judged_test_in(R"({"position":1})"));
  EXPECT_FALSE(judged_by_in(whole));
  JudgedTest gone = made_test();
  gone.now.reset();
  gone.not_judged = NotJudged::samples_gone;
  std::string unknown = line_of(gone);
  unknown.replace(unknown.find("samples_gone"), 12, "some_reasons");
  EXPECT_FALSE(judged_test_in(unknown));
}

}  // namespace
}  // namespace endgate::daemon
