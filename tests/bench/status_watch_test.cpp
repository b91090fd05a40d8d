#include "daemon/bench/status_watch.h"

#include <gtest/gtest.h>

namespace endgate::tests {
namespace {

using namespace daemon;
using namespace std::chrono_literals;

class StatusWatchTest : public ::testing::Test {
 protected:
  StatusWatchTest() {
    bench_.interlocks.cover_closed = BitSource{};
    bench_.interlocks.emergency_stop_clear = BitSource{};
  }
  static Frame frame(std::chrono::steady_clock::time_point at, bool with_cover) {
    Frame made;
    made.arrived = at;
    made.interlocks.emergency_stop_clear = true;
    if (with_cover) made.interlocks.cover_closed = true;
    return made;
  }
  std::string silent(const StatusWatch& watch, std::chrono::steady_clock::time_point now) {
    return watch.silent(now).value_or("");
  }

  BenchDefinition bench_;
  std::chrono::steady_clock::time_point t0_{1000s};
};

TEST_F(StatusWatchTest, NothingNamedIsNeverSilent) {
  bench_.interlocks = {};
  EXPECT_EQ(silent(StatusWatch(bench_), t0_), "");
}

TEST_F(StatusWatchTest, AnInputThatWasNeverHeardIsSilentFromTheFirstMoment) {
  StatusWatch watch(bench_);
  EXPECT_EQ(silent(watch, t0_), "whether the emergency stop is released");
  watch.on_frame(frame(t0_, false));
  EXPECT_EQ(silent(watch, t0_), "whether the cover is closed");
  watch.on_frame(frame(t0_, true));
  EXPECT_EQ(silent(watch, t0_), "");
}

TEST_F(StatusWatchTest, AnInputThatIsNotHeardAnyMoreIsSilentAfterItsTime) {
  StatusWatch watch(bench_);
  watch.on_frame(frame(t0_, true));
  watch.on_frame(frame(t0_ + 2s, false));
  EXPECT_EQ(silent(watch, t0_ + StatusWatch::kSilentAfter), "");
  EXPECT_EQ(silent(watch, t0_ + StatusWatch::kSilentAfter + 1ms), "whether the cover is closed");
}

TEST_F(StatusWatchTest, WhatWasHeardBeforeALostLinkDoesNotCount) {
  StatusWatch watch(bench_);
  watch.on_frame(frame(t0_, true));
  watch.forget();
  EXPECT_NE(silent(watch, t0_), "");
}

}  // namespace
}  // namespace endgate::tests
