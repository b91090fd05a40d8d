#include "daemon/bench/trace_recorder.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/bench/made_bench.h"

namespace endgate::tests {
namespace {

using analysis::Quality;
using ::testing::ElementsAre;

class TraceRecorderTest : public ::testing::Test {
 protected:
  ChannelTable channels{made_bench(), {}};
  TraceRecorder recorder{channels};

  void record(std::int64_t time_us, std::int64_t raw, Quality quality = Quality::good) {
    Frame frame;
    frame.bench_time_us = time_us;
    frame.readings = {{1, raw, quality}};
    recorder.record(frame);
  }
  void miss() { recorder.missed(std::vector<std::size_t>{1}); }
};

TEST_F(TraceRecorderTest, KeepsWhatArrivedAsItArrived) {
  record(0, 7);
  record(20'000, 0, Quality::no_value);
  const auto columns = recorder.finish();
  ASSERT_EQ(columns.size(), 7u);
  EXPECT_EQ(columns[1].id, "flow");
  EXPECT_THAT(columns[1].time_us, ElementsAre(0, 20'000));
  EXPECT_THAT(columns[1].raw, ElementsAre(7, 0));
  EXPECT_THAT(columns[1].quality, ElementsAre(Quality::good, Quality::no_value));
  EXPECT_TRUE(columns[0].time_us.empty());
}

TEST_F(TraceRecorderTest, DropsASecondSampleAtTheSameTime_TR1) {
  record(0, 1);
  record(0, 2);
  record(-5, 3);
  EXPECT_THAT(recorder.finish()[1].raw, ElementsAre(1));
}

TEST_F(TraceRecorderTest, SpreadsMissingPollsBetweenTheirNeighbours_TR2) {
  record(0, 1);
  miss();
  miss();
  record(60'000, 4);
  const auto column = recorder.finish()[1];
  EXPECT_THAT(column.time_us, ElementsAre(0, 20'000, 40'000, 60'000));
  EXPECT_THAT(column.quality, ElementsAre(Quality::good, Quality::not_arrived, Quality::not_arrived,
                                          Quality::good));
}

TEST_F(TraceRecorderTest, PlacesPollsMissingAtTheEndAtTheirPeriod_TR3) {
  record(0, 1);
  miss();
  const auto column = recorder.finish()[1];
  EXPECT_THAT(column.time_us, ElementsAre(0, 20'000));
}

TEST_F(TraceRecorderTest, KeepsTimesRisingWhenThereIsNoRoomForMissingPolls_TR1) {
  record(0, 1);
  for (int i = 0; i < 5; ++i) miss();
  record(3, 2);
  EXPECT_THAT(recorder.finish()[1].time_us, ElementsAre(0, 3));
}

}  // namespace
}  // namespace endgate::tests
