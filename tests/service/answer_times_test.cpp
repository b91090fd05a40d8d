// Who gives up first: the innermost, so that its words arrive.

#include "daemon/line/answer_times.h"

#include <gmock/gmock.h>

#include "schema/store.h"
#include "tests/service/served.h"
#include "tests/support/temporary_folder.h"

namespace endgate::test {
namespace {

using namespace std::chrono_literals;
using testing::HasSubstr;

class AnswerTimes : public testing::Test {
 protected:
  void serve(const daemon::HttpSettings& settings = {}) {
    { const schema::StoreWriter store(folder_.path()); }
    served_ = std::make_unique<Served>(folder_.path().string(), settings);
  }
  void send(RawHttp& client) const {
    client.send("GET " + std::string(kAsked) + " HTTP/1.1\r\nHost: " + served_->host() +
                "\r\nConnection: close\r\n\r\n");
  }
  void wait_until_held() const {
    while (served_->application.held_questions() == 0) std::this_thread::sleep_for(1ms);
  }

  static constexpr const char* kAsked = "/alarms";
  TemporaryFolder folder_;
  std::unique_ptr<Served> served_;
};

TEST_F(AnswerTimes, AQuestionIsGivenUpBeforeItsAnswerIs) {
  const daemon::HttpSettings settings;
  EXPECT_GT(settings.question_answered_within, daemon::kLongestQuestion);
  EXPECT_GT(daemon::kClientWaits, settings.command_answered_within);
}

TEST_F(AnswerTimes, AQuestionThatIsGivenUpSaysWhatToNarrow) {
  serve();
  served_->application.answer_questions_within(0ms);
  const std::string answer = served_->get(kAsked);
  EXPECT_EQ(status_of(answer), 503);
  EXPECT_THAT(answer, HasSubstr("S-112"));
  EXPECT_THAT(answer, HasSubstr("Ask about fewer tests"));
}

// Waiting for a thread counts: nobody is there any more for an answer that comes after that.
TEST_F(AnswerTimes, TheTimeOfAQuestionRunsFromWhenItWasAsked) {
  serve();
  served_->application.answer_questions_within(100ms);
  served_->application.hold_questions();
  RawHttp client(served_->server.port());
  send(client);
  wait_until_held();
  std::this_thread::sleep_for(150ms);
  served_->application.answer_questions();
  EXPECT_THAT(client.read(), HasSubstr("S-112"));
}

TEST_F(AnswerTimes, TooManyQuestionsAreRefusedAtOnce) {
  serve();
  served_->application.hold_questions();
  RawHttp first(served_->server.port());
  send(first);
  wait_until_held();
  EXPECT_THAT(served_->get(kAsked), HasSubstr("S-111"));
  served_->application.answer_questions();
  EXPECT_EQ(status_of(first.read()), 200);
}

TEST_F(AnswerTimes, WhoNeverAnswersIsSaidToTakeTooLong) {
  serve({.question_answered_within = 100ms, .command_answered_within = 100ms});
  served_->application.hold_questions();
  served_->application.never_answer();
  EXPECT_THAT(served_->get(kAsked), HasSubstr("N-503"));
  const std::string command = served_->post("/api/v1/benches/free/scan", R"({"serial":"QH"})");
  EXPECT_THAT(command, HasSubstr("N-504"));
  EXPECT_THAT(command, HasSubstr("look whether it was"));
}

}  // namespace
}  // namespace endgate::test
