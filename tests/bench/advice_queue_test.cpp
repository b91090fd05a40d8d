#include "daemon/bench/advice_queue.h"

#include <gtest/gtest.h>

namespace endgate::tests {
namespace {

using daemon::AdviceQueue;

class AdviceQueueTest : public ::testing::Test {
 protected:
  boost::asio::io_context io;
  boost::asio::thread_pool pool{1};
  AdviceQueue queue{io, pool};
  std::shared_ptr<const analysis::Context> context = std::make_shared<analysis::Context>();
  int answers = 0;

  bool ask() {
    analysis::StepSums sums;
    sums.step_id = "hold_400";
    return queue.ask(std::move(sums), context, [this](const analysis::Advice& advice) {
      EXPECT_EQ(advice.step_id, "hold_400");
      ++answers;
    });
  }
};

TEST_F(AdviceQueueTest, AnswersOnTheThreadThatRunsTheBench) {
  EXPECT_TRUE(ask());
  pool.join();
  EXPECT_EQ(answers, 0);
  io.run();
  EXPECT_EQ(answers, 1);
}

TEST_F(AdviceQueueTest, DropsALookWhileOneIsOnItsWay) {
  EXPECT_TRUE(ask());
  EXPECT_FALSE(ask());
  pool.join();
  io.run();
  EXPECT_EQ(answers, 1);
}

TEST_F(AdviceQueueTest, AsksAgainOnceItIsAnswered) {
  EXPECT_TRUE(ask());
  while (answers == 0) {
    io.restart();
    io.run();
  }
  EXPECT_TRUE(ask());
  pool.join();
}

}  // namespace
}  // namespace endgate::tests
