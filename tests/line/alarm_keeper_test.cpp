// What the store does not accept holds up no other alarm.

#include "daemon/line/alarm_keeper.h"

#include <gtest/gtest.h>

#include <boost/asio/executor_work_guard.hpp>
#include <boost/asio/io_context.hpp>
#include <chrono>
#include <set>

#include "daemon/line/upkeep_policy.h"
#include "tests/support/temporary_folder.h"

namespace endgate::test {
namespace {

using namespace daemon;
using namespace std::chrono_literals;

constexpr const char* kNeverAccepted = "\xff is not UTF-8";

class AlarmKeeperTest : public ::testing::Test {
 protected:
  TemporaryFolder folder;
  boost::asio::io_context io;
  const boost::asio::executor_work_guard<boost::asio::io_context::executor_type> work{
      io.get_executor()};
  RecordThread records{folder.path()};
  std::multiset<std::string> told, told_later;
  std::shared_ptr<AlarmKeeper> keeper = std::make_shared<AlarmKeeper>(
      io, records, folder.path(), "north",
      [this](const std::string& code, const std::string&) { told.insert(code); });

  std::multiset<std::string> kept_open() const {
    std::multiset<std::string> codes;
    for (const auto& alarm : schema::StoreReader(folder.path()).open_alarms())
      codes.insert(alarm.fact.code);
    return codes;
  }
  template <class Condition>
  bool comes(Condition condition) {
    for (int i = 0; i < 300 && !condition(); ++i) io.run_one_for(10ms);
    return condition();
  }
};

TEST_F(AlarmKeeperTest, OneThatIsNeverAcceptedHoldsUpNoOther) {
  keeper->open({"reference_overdue", kNeverAccepted});
  keeper->open({kAlarmMotor, "Motor state unknown."});
  keeper->open({kAlarmPressure, "The unit may be under pressure."});
  const std::multiset<std::string> both{kAlarmMotor, kAlarmPressure};
  EXPECT_TRUE(comes([&] { return kept_open() == both; }));
  EXPECT_TRUE(told.contains("S-126"));
}

TEST_F(AlarmKeeperTest, WhatComesBehindOneOfTheSameCodeMakesUpForIt) {
  keeper->open({kAlarmMotor, kNeverAccepted});
  keeper->close({kAlarmMotor, "Ada", "motor off was read back"});
  keeper->open({kAlarmPressure, "The unit may be under pressure."});
  EXPECT_TRUE(comes([&] { return kept_open() == std::multiset<std::string>{kAlarmPressure}; }));
}

TEST_F(AlarmKeeperTest, TellsTheStationThatTookItsPlace) {
  keeper->tell_to([this](const std::string& code, const std::string&) { told_later.insert(code); });
  keeper->open({"reference_overdue", kNeverAccepted});
  EXPECT_TRUE(comes([&] { return !told_later.empty(); }));
  EXPECT_TRUE(told.empty());
}

}  // namespace
}  // namespace endgate::test
