// A service that cannot open its store: what becomes of a motor that a dead one left running?

#include "daemon/line/order_motors_off.h"

#include <gmock/gmock.h>

#include "daemon/definitions/load.h"
#include "schema/owner_lock.h"
#include "tests/line/endgate_process.h"
#include "tests/line/lease_keeper.h"
#include "tests/line/line_plant.h"

namespace endgate::test {
namespace {

using daemon::MotorsOff;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

class OrderMotorsOff : public ::testing::Test {
 protected:
  static constexpr int kRate = 12;
  static constexpr int kOwner = 100, kRelay = 102;

  void SetUp() override { write_config(config(), bench_.port(), kRate); }
  [[nodiscard]] fs::path config() const { return folder_.path() / "config"; }
  // As a service that was killed leaves it, on a bench without a lease of its own.
  void leave_the_motor_running() {
    const fs::path file = config() / "benches/north.toml";
    const auto loaded = daemon::load_bench(text_in(file), file.string());
    simbench::Libmodbus link(bench_.port());
    ASSERT_EQ(link.write(kOwner, std::get<daemon::BenchDefinition>(loaded).owner_word), 0);
    for (int tries = 0; tries < 100 && link.write(kRelay, 1) != 0; ++tries)
      std::this_thread::sleep_for(10ms);  // until the lease lives
    ASSERT_TRUE(relay_is_closed());
  }
  [[nodiscard]] bool relay_is_closed() {
    const simbench::Words words = simbench::Libmodbus(bench_.port()).input(2, 1);
    return words.empty() || (words[0] & 4U) != 0;
  }

  TemporaryFolder folder_;
  simbench::ServedBench bench_{kRate, in_a_room()};
  LeaseKeeper lease_{bench_.port()};
};

TEST_F(OrderMotorsOff, SwitchesOffAndReadsBackWithoutAnyStore) {
  leave_the_motor_running();
  const MotorsOff motors = daemon::order_motors_off(config(), 20s);
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
  const MotorsOff motors = daemon::order_motors_off(config(), 2s);
  EXPECT_FALSE(relay_is_closed());
  EXPECT_THAT(motors.not_read_back, ElementsAre("east"));
  EXPECT_THAT(daemon::text_of(motors),
              HasSubstr("Motor state unknown at bench east: press the stop button there."));
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

TEST_F(OrderMotorsOff, AFolderWithoutBenchesSaysThatNothingWasDone) {
  fs::remove_all(config() / "benches");
  EXPECT_THAT(daemon::text_of(daemon::order_motors_off(config(), 1s)),
              HasSubstr("press the stop button of every bench"));
}

}  // namespace
}  // namespace endgate::test
