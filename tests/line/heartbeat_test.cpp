// daemon/line/heartbeat.h: a sign of life only while every thread answers.

#include "daemon/line/heartbeat.h"

#include <gtest/gtest.h>

#include <boost/asio/post.hpp>

namespace endgate::daemon {
namespace {

using namespace std::chrono_literals;

// Threads that answer at once, are too busy to be asked, or never answer.
struct Plant {
  boost::asio::io_context io;
  int beats = 0;
  bool hangs = false, full = false;

  Heartbeat heartbeat() {
    const auto healthy = [](const std::function<void()>& answer) { return answer(), true; };
    const auto doubtful = [this](const std::function<void()>& answer) {
      if (full) return false;
      if (!hangs) answer();
      return true;
    };
    return Heartbeat(io, {healthy, doubtful}, 1ms, [this] { ++beats; });
  }
  void run() { io.run_for(30ms); }
};

TEST(Heartbeat, BeatsWhileEveryThreadAnswers) {
  Plant plant;
  const Heartbeat heartbeat = plant.heartbeat();
  plant.run();
  EXPECT_GE(plant.beats, 2);
}

TEST(Heartbeat, StopsForEverWhenAThreadHangs) {
  Plant plant;
  const Heartbeat heartbeat = plant.heartbeat();
  plant.hangs = true;
  plant.run();
  EXPECT_EQ(plant.beats, 0);
}

TEST(Heartbeat, BeatsAgainWhenAFullThreadTakesWorkAgain) {
  Plant plant;
  const Heartbeat heartbeat = plant.heartbeat();
  plant.full = true;
  plant.run();
  EXPECT_EQ(plant.beats, 0);
  plant.full = false;
  plant.io.restart();
  plant.run();
  EXPECT_GE(plant.beats, 1);
}

}  // namespace
}  // namespace endgate::daemon
