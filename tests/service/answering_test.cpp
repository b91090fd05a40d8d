#include <gmock/gmock.h>

#include <stdexcept>

#include "daemon/service/command_body.h"

namespace endgate::daemon {
namespace {

using ::testing::HasSubstr;

TEST(Answering, AnAnswerThatCannotBeWrittenIsNoExceptionOnTheThreadOfTheBenches) {
  std::optional<Response> said;
  const auto answer = answering<CommandAnswer>(
      [&](Response response) { said = std::move(response); },
      [](const CommandAnswer&) -> std::string { throw std::runtime_error("not a finite number"); });
  answer(CommandAnswer(LineState{}));
  ASSERT_TRUE(said);
  EXPECT_EQ(said->status, 500);
  EXPECT_THAT(said->body, HasSubstr("It was done"));
}

}  // namespace
}  // namespace endgate::daemon
