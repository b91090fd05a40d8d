// A new version on trial: what it would say of kept tests, and what two versions say.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <chrono>
#include <csignal>
#include <thread>

#include "daemon/exchange/judgement_lines.h"
#include "tests/cli/command.h"
#include "tests/support/evaluated_test.h"
#include "tests/support/store_helpers.h"

namespace endgate {
namespace {

using test::Ended;
using testing::HasSubstr;
using testing::Not;
using testing::StartsWith;

// As a program that read the flow higher would have kept it, and judged it.
void higher(schema::Record& record) {
  for (schema::MetricValue& metric : record.metrics)
    if (metric.id == "fad_400") *metric.value += 3 * *metric.u;
}
void failed(schema::Record& record) {
  record.verdict = "fail";
  record.reasons = {{"below_lower", "fad_400", "Flow was low."}};
}

class Rejudge : public testing::Test {
 protected:
  [[nodiscard]] Ended rejudge(std::vector<std::string> words = {}) const {
    words.insert(words.begin(), "rejudge");
    words.insert(words.end(), {"--data", store_.path().string()});
    return test::endgate(std::move(words));
  }
  [[nodiscard]] std::string file(const std::string& name) const {
    return (files_.path() / name).string();
  }
  [[nodiscard]] std::string written(const std::string& name, const std::string& text) const {
    std::ofstream(file(name), std::ios::binary) << text;
    return file(name);
  }
  [[nodiscard]] std::string read(const std::string& name) const {
    std::ifstream in(file(name), std::ios::binary);
    return {std::istreambuf_iterator<char>(in), {}};
  }
  test::TemporaryFolder store_, files_;
  schema::StoreWriter writer_{store_.path()};  // owned meanwhile, as by a running service
};

TEST_F(Rejudge, SaysThatNothingMovesWhenTheSameProgramJudgesAgain) {
  test::keep_evaluated(writer_, "QH1", 1);
  test::keep_evaluated(writer_, "QH2", 2);
  const schema::Position before = writer_.last_position();
  const Ended ended = rejudge();
  EXPECT_EQ(ended.status, 0) << ended.out << ended.err;
  EXPECT_THAT(ended.out, HasSubstr("2 tests compared: nothing moves, equal bit for bit\n"));
  EXPECT_THAT(ended.out, Not(HasSubstr("fad_400")));
  EXPECT_EQ(writer_.last_position(), before) << "it only reads";
}

TEST_F(Rejudge, NamesEachSerialWhoseVerdictMovesAndHowFarNumbersDo) {
  test::keep_evaluated(writer_, "QH1", 1);
  test::keep_evaluated(writer_, "QH2", 2, higher);
  test::keep_evaluated(writer_, "QH3", 3, failed);
  const Ended ended = rejudge();
  EXPECT_EQ(ended.status, 1);
  EXPECT_THAT(
      ended.out,
      HasSubstr("QH3 attempt 1: was fail, is pass. Before: Flow was low. Now: All 2 limits "));
  EXPECT_THAT(ended.out, HasSubstr("kept \\ now  pass  fail\n"
                                   "pass        2     0\n"
                                   "fail        1     0\n"));
  EXPECT_THAT(ended.out, testing::ContainsRegex("fad_400 +3 +1 +-3 +-3 +0 +0 +0 +QH2 attempt 1"));
  EXPECT_THAT(ended.out,
              HasSubstr("3 tests compared: 1 verdict and 1 number in 1 test would move"));
}

TEST_F(Rejudge, TakesTheNewestTestsOfOneModel) {
  test::keep_evaluated(writer_, "QH1", 1, failed);
  test::keep_evaluated(writer_, "QH2", 2);
  EXPECT_THAT(rejudge({"--last", "1"}).out, HasSubstr("1 test compared: nothing moves"));
  EXPECT_THAT(rejudge({"--last", "2", "--model", "P1-60-12"}).out, HasSubstr("2 tests compared"));
  EXPECT_EQ(rejudge({"--model", "P9"}).status, 2);
  EXPECT_EQ(rejudge({"--last", "0"}).status, 2);
}

TEST_F(Rejudge, CountsWhatCannotBeJudgedAgainByItsReason) {
  test::keep_evaluated(writer_, "QH1", 1);
  test::append_test(writer_, "QH2");
  const Ended ended = rejudge();
  EXPECT_EQ(ended.status, 0);
  EXPECT_THAT(ended.out, HasSubstr("not judged again: 1, they were broken off and never judged\n"));
  EXPECT_THAT(ended.out, HasSubstr("1 test compared"));
}

constexpr const char* kDraft =
    "kind = \"limits\"\nmodel = \"P1-60-12\"\nguard = \"none\"\n"
    "[[limit]]\nmetric = \"fad_400\"\nunit = \"L/min\"\nlower = 90\n";

TEST_F(Rejudge, AnswersADraftLimitSetOnTestsThatAreJudgedAgain) {
  test::keep_evaluated(writer_, "QH1", 1);
  const Ended ended = rejudge({"--limits", written("draft.toml", kDraft)});
  EXPECT_EQ(ended.status, 1);
  EXPECT_THAT(ended.out, HasSubstr("QH1 attempt 1: was pass, is fail. Before: "));
  EXPECT_THAT(ended.out, HasSubstr("1 verdict and 0 numbers in 0 tests would move"));
  EXPECT_EQ(rejudge({"--limits", file("draft.toml"), "--model", "P2-120-24"}).status, 3);
  const Ended spoilt =
      rejudge({"--limits", written("bad.toml", std::string(kDraft) + "upper = \"x\"\n")});
  EXPECT_EQ(spoilt.status, 3);
  EXPECT_THAT(spoilt.err, HasSubstr("bad.toml:8:"));
}

TEST_F(Rejudge, WritesLinesThatTwoProgramsAreHeldAgainstEachOtherBy) {
  test::keep_evaluated(writer_, "QH1", 1);
  test::keep_evaluated(writer_, "QH2", 2);
  ASSERT_EQ(rejudge({"--out", file("a.jsonl")}).status, 0);
  ASSERT_EQ(rejudge({"--out", file("b.jsonl")}).status, 0);
  const Ended same = test::endgate({"moved", file("a.jsonl"), file("b.jsonl")});
  EXPECT_EQ(same.status, 0) << same.out << same.err;
  EXPECT_THAT(same.out, HasSubstr("2 tests compared: nothing moves, equal bit for bit\n"));

  const Ended drafted =
      rejudge({"--limits", written("draft.toml", kDraft), "--out", file("draft.jsonl")});
  ASSERT_EQ(drafted.status, 1) << drafted.err;
  const Ended other = test::endgate({"moved", file("a.jsonl"), file("draft.jsonl")});
  EXPECT_EQ(other.status, 1);
  EXPECT_THAT(other.out, HasSubstr("after: endgate"));
  EXPECT_THAT(other.out, HasSubstr("limits P1-60-12 (draft draft.toml)"));
  EXPECT_THAT(other.out, HasSubstr("QH2 attempt 1: was pass, is fail. Before: "));
  EXPECT_THAT(other.out, HasSubstr("before \\ after  pass  fail\n"));
}

TEST_F(Rejudge, TestsOfOneFileAloneAreCountedAndFilesOfTwoStoresRefused) {
  test::keep_evaluated(writer_, "QH1", 1);
  ASSERT_EQ(rejudge({"--out", file("a.jsonl")}).status, 0);
  test::keep_evaluated(writer_, "QH2", 2);
  ASSERT_EQ(rejudge({"--out", file("b.jsonl")}).status, 0);
  const Ended more = test::endgate({"moved", file("a.jsonl"), file("b.jsonl")});
  EXPECT_EQ(more.status, 0);
  EXPECT_THAT(more.out, HasSubstr("not compared: 1, only in the second file\n"));
  EXPECT_THAT(test::endgate({"moved", file("b.jsonl"), file("a.jsonl")}).out,
              HasSubstr("not compared: 1, only in the first file\n"));

  std::string elsewhere = read("a.jsonl");
  elsewhere.replace(elsewhere.find("\"store\":\"") + 9, 4, "none");
  const Ended refused = test::endgate({"moved", file("b.jsonl"), written("c.jsonl", elsewhere)});
  EXPECT_EQ(refused.status, 2);
  EXPECT_THAT(refused.err, HasSubstr("different stores"));
}

TEST_F(Rejudge, ALineThatWasCutIsNamed) {
  test::keep_evaluated(writer_, "QH1", 1);
  ASSERT_EQ(rejudge({"--out", file("a.jsonl")}).status, 0);
  const std::string whole = read("a.jsonl");
  const std::string cut = written("cut.jsonl", whole.substr(0, whole.size() - 20));
  const Ended ended = test::endgate({"moved", file("a.jsonl"), cut});
  EXPECT_EQ(ended.status, 3);
  EXPECT_THAT(ended.err, HasSubstr("cut.jsonl:2: "));
  EXPECT_EQ(test::endgate({"moved", file("a.jsonl"), written("none.jsonl", "")}).status, 3);
  const std::string line = whole.substr(whole.find('\n') + 1);
  EXPECT_THAT(test::endgate({"moved", file("a.jsonl"), written("twice.jsonl", whole + line)}).err,
              HasSubstr("twice.jsonl:3: expected a later test"));
}

// Shadow judging beside the service: each test that is kept meanwhile is taken too.
TEST_F(Rejudge, FollowsTheStoreUntilItIsStopped) {
  test::keep_evaluated(writer_, "QH1", 1);
  const auto lines = [&] {
    const std::string text = read("follow.jsonl");
    return std::ranges::count(text, '\n');
  };
  const auto wait_for_lines = [&](std::ptrdiff_t count) {
    for (int tenth = 0; tenth < 300 && lines() < count; ++tenth)
      std::this_thread::sleep_for(std::chrono::milliseconds(100));
    return lines();
  };
  sigset_t stop;
  sigemptyset(&stop);
  sigaddset(&stop, SIGTERM);
  Ended ended;
  std::thread following([&] {
    pthread_sigmask(SIG_BLOCK, &stop, nullptr);
    ended = rejudge({"--follow", "--out", file("follow.jsonl")});
  });
  EXPECT_EQ(wait_for_lines(2), 2);
  test::keep_evaluated(writer_, "QH2", 2, failed);
  EXPECT_EQ(wait_for_lines(3), 3);
  pthread_kill(following.native_handle(), SIGTERM);
  following.join();
  EXPECT_EQ(ended.status, 1);
  EXPECT_THAT(ended.out, HasSubstr("QH2 attempt 1: was fail, is pass"));
  EXPECT_THAT(ended.out, HasSubstr("2 tests compared: 1 verdict"));
}

}  // namespace
}  // namespace endgate
