// A bench whose motor a dead service left running, without a lease that would open its relay.

#pragma once

#include "daemon/definitions/load.h"
#include "tests/line/endgate_process.h"
#include "tests/line/lease_keeper.h"
#include "tests/line/line_plant.h"

namespace endgate::test {

class LeftRunning : public ::testing::Test {
 protected:
  static constexpr int kRate = 12;
  static constexpr int kOwner = 100, kRelay = 102;

  void SetUp() override { write_config(config(), bench_.port(), kRate); }
  [[nodiscard]] fs::path config() const { return folder_.path() / "config"; }

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
  // Against hanging only.
  [[nodiscard]] bool relay_opens() {
    for (int tries = 0; tries < 1000 && relay_is_closed(); ++tries)
      std::this_thread::sleep_for(10ms);
    return !relay_is_closed();
  }

  TemporaryFolder folder_;
  simbench::ServedBench bench_{kRate, in_a_room()};
  LeaseKeeper lease_{bench_.port()};
};

}  // namespace endgate::test
