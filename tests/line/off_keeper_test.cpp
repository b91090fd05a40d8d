// A service that cannot open its store: what becomes of a motor that a dead one left running?

#include "daemon/line/off_keeper.h"

#include <gmock/gmock.h>

#include "daemon/cli/exit_status.h"
#include "schema/owner_lock.h"
#include "tests/line/left_running.h"

namespace endgate::test {
namespace {

using daemon::MotorsOff;
using daemon::OffKeeper;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

class OrderMotorsOff : public LeftRunning {};

TEST_F(OrderMotorsOff, SwitchesOffAndReadsBackWithoutAnyStore) {
  leave_the_motor_running();
  const MotorsOff motors = OffKeeper(config()).keep_off(20s);
  EXPECT_FALSE(relay_is_closed());
  EXPECT_THAT(motors.read_back, ElementsAre("north"));
  EXPECT_THAT(motors.not_read_back, IsEmpty());
  EXPECT_EQ(daemon::text_of(motors), "Motor off was read back from bench north.");
}

TEST_F(OrderMotorsOff, SaysWhichMotorNobodyKnowsOf) {
  fs::copy(config() / "benches/north.toml", config() / "benches/east.toml");
  replace_value(config() / "benches/east.toml", "id", "\"east\"");
  replace_value(config() / "benches/east.toml", "port", "1");
  leave_the_motor_running();
  const MotorsOff motors = OffKeeper(config()).keep_off(2s);
  EXPECT_FALSE(relay_is_closed());
  EXPECT_THAT(motors.not_read_back, ElementsAre("east"));
  EXPECT_THAT(daemon::text_of(motors),
              HasSubstr("Motor state unknown at bench east: press the stop button there."));
}

TEST_F(OrderMotorsOff, LeavesABenchOfAnotherServiceAlone) {
  replace_value(config() / "benches/north.toml", "owner_word", "7");
  leave_the_motor_running();
  replace_value(config() / "benches/north.toml", "owner_word", "8");
  OffKeeper keeper(config());
  const MotorsOff motors = keeper.keep_off(20s);
  EXPECT_THAT(motors.held_by_other, ElementsAre("north"));
  EXPECT_EQ(daemon::text_of(motors), "Another service runs bench north and its motor.");
  simbench::Libmodbus(bench_.port()).write(kRelay, 1);  // its next test
  EXPECT_THAT(keeper.keep_off(200ms).held_by_other, ElementsAre("north"));
  EXPECT_TRUE(relay_is_closed());
}

TEST_F(OrderMotorsOff, GivesABenchBackAndMayTakeItAgain) {
  leave_the_motor_running();
  OffKeeper keeper(config());
  EXPECT_THAT(keeper.keep_off(20s).read_back, ElementsAre("north"));
  keeper.hand_over();
  leave_the_motor_running();
  std::this_thread::sleep_for(300ms);
  EXPECT_TRUE(relay_is_closed()) << "it is another's now";
  EXPECT_THAT(keeper.keep_off(20s).read_back, ElementsAre("north"));
  EXPECT_FALSE(relay_is_closed());
}

// A service whose own file is spoilt serves nothing, but it still switches off what a dead one left.
TEST_F(OrderMotorsOff, AServiceThatCannotReadItsOwnFileSwitchesOffToo) {
  for (const char* spoilt : {"kind = \"service\"\nlisten_prot = 1\n", "this is no TOML", ""}) {
    leave_the_motor_running();
    put_text(config() / "service.toml", spoilt);
    if (*spoilt == '\0') fs::remove(config() / "service.toml");
    EndgateProcess service(config(), folder_.path() / "out");
    EXPECT_EQ(service.end(0), 3) << spoilt;
    EXPECT_FALSE(relay_is_closed()) << spoilt;
  }
}

// Its own service is alive, and only the file was spoilt meanwhile.
TEST_F(OrderMotorsOff, ASpoiltFileBesideARunningServiceEndsNoTest) {
  replace_value(config() / "service.toml", "data_directory", "\"elsewhere\"");
  replace_value(config() / "service.toml", "listen_port", "\"none\"");
  fs::create_directory(config() / "elsewhere");
  const schema::OwnerLock running(config() / "elsewhere");
  leave_the_motor_running();
  EndgateProcess second(config(), folder_.path() / "out");
  EXPECT_EQ(second.end(0), 3);
  EXPECT_TRUE(relay_is_closed());
}

// That no thread can be made is nothing a person finds in the service's file.
TEST_F(OrderMotorsOff, AServiceWithoutThreadsIsNotOneWithoutPages) {
  leave_the_motor_running();
  EndgateProcess service(config(), folder_.path() / "out", EndgateProcess::Threads::none);
  EXPECT_EQ(service.end(0), daemon::kInternal);
  EXPECT_FALSE(relay_is_closed());
}

TEST_F(OrderMotorsOff, AServiceWhosePagesCannotBeServedSaysSo) {
  boost::asio::io_context io;
  const boost::asio::ip::tcp::acceptor taken(io, {boost::asio::ip::address_v4::loopback(), 0});
  replace_value(config() / "service.toml", "listen_port",
                std::to_string(taken.local_endpoint().port()));
  leave_the_motor_running();
  EndgateProcess service(config(), folder_.path() / "out");
  EXPECT_EQ(service.end(0), daemon::kConfiguration);
  EXPECT_FALSE(relay_is_closed());
}

TEST_F(OrderMotorsOff, AFolderWithoutBenchesSaysThatNothingWasDone) {
  fs::remove_all(config() / "benches");
  EXPECT_THAT(daemon::text_of(OffKeeper(config()).keep_off(1s)),
              HasSubstr("press the stop button of every bench"));
}

}  // namespace
}  // namespace endgate::test
