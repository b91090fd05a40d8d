// The daemon dies at any instant: nothing acknowledged is lost, the motor goes off by itself.

#include <random>

#include "fixtures/demo/http_client.h"
#include "schema/verify.h"
#include "tests/line/endgate_process.h"

namespace endgate::test {
namespace {

constexpr int kRate = 12;

class KilledDaemon : public ::testing::Test {
 protected:
  void SetUp() override {
    write_config(config(), bench_.port(), kRate);
    replace_value(config() / "service.toml", "listen_port", std::to_string(port_));
    replace_value(config() / "service.toml", "data_directory", "\"data\"");
    accept_all(config(), data());
  }
  [[nodiscard]] fs::path config() const { return folder_.path() / "config"; }
  [[nodiscard]] fs::path data() const { return config() / "data"; }
  [[nodiscard]] fs::path log() const { return folder_.path() / "log"; }

  // Scans and starts a unit by the API; true when the service acknowledged the start.
  bool start_unit(const std::string& unit) {
    EXPECT_EQ(simbench::RawLink(bench_.control_port()).ask("clamp " + unit), "ok");
    line_operator::HttpClient http("127.0.0.1", std::to_string(port_));
    for (int tries = 0; tries < 300; ++tries) {
      const auto scanned =
          http.post("/api/v1/benches/north/scan", {{"serial", unit}, {"batch", "48-B2"}});
      if (scanned.status == 200) break;
      std::this_thread::sleep_for(10ms);
    }
    return http.post("/api/v1/benches/north/start", nlohmann::json::object()).status == 200;
  }
  // Bit 2 of the status register (input register 2): the relay as the bench reads it back.
  [[nodiscard]] bool relay_closed() {
    const simbench::Words words = simbench::Libmodbus(bench_.port()).input(2, 1);
    return words.empty() || (words[0] & 4U) != 0;
  }
  [[nodiscard]] bool relay_closes() {
    for (int tries = 0; tries < 1000 && !relay_closed(); ++tries) std::this_thread::sleep_for(10ms);
    return relay_closed();
  }
  [[nodiscard]] bool relay_opens_within(std::chrono::milliseconds time) {
    const auto until = std::chrono::steady_clock::now() + time;
    while (std::chrono::steady_clock::now() < until) {
      if (!relay_closed()) return true;
      std::this_thread::sleep_for(10ms);
    }
    return !relay_closed();
  }

  TemporaryFolder folder_;
  simbench::ServedBench bench_{kRate, in_a_room()};
  std::uint16_t port_ = free_port();
};

// The seed is fixed; a failure names the round.
TEST_F(KilledDaemon, AtRandomInstantsLosesNoStartAndLeavesNoMotorRunning) {
  std::mt19937 random(2648);
  std::uniform_int_distribution<int> delay_ms(0, 6500);  // a whole test takes about 6 s here
  constexpr int kRounds = 6;
  for (int round = 0; round < kRounds; ++round) {
    const std::string unit = serial(100 + round);
    SCOPED_TRACE(unit);
    EndgateProcess daemon(config(), log());
    ASSERT_TRUE(serves(log()));
    ASSERT_TRUE(start_unit(unit));
    std::this_thread::sleep_for(std::chrono::milliseconds(delay_ms(random)));
    daemon.end(SIGKILL);
    EXPECT_TRUE(relay_opens_within(1500ms)) << "the lease must have lapsed";
    std::this_thread::sleep_for(300ms);  // let the receiver be vented by the next daemon
  }
  EndgateProcess daemon(config(), log());
  ASSERT_TRUE(serves(log()));
  const schema::StoreReader store(data());
  EXPECT_TRUE(store.starts_without_record().empty());
  for (int round = 0; round < kRounds; ++round) {
    const auto records = store.records_of(serial(100 + round));
    ASSERT_EQ(records.size(), 1U) << serial(100 + round);
    const schema::Record& record = records[0].record;
    EXPECT_TRUE(record.simulated) << "cut off or not";
    if (!record.trace_sha256) {
      EXPECT_EQ(record.verdict, "void");
      EXPECT_EQ(record.reasons.at(0).code, "broken_off_daemon_restarted");
    }
  }
  EXPECT_FALSE(schema::verify(data(), true).first_bad);
}

TEST_F(KilledDaemon, ATerminatedDaemonSwitchesOffFirstAndEndsWithZero) {
  EndgateProcess daemon(config(), log());
  ASSERT_TRUE(serves(log()));
  ASSERT_TRUE(start_unit(serial(120)));
  EXPECT_TRUE(relay_closes()) << "nobody keeps the motor off any more";
  std::this_thread::sleep_for(700ms);
  EXPECT_EQ(daemon.end(SIGTERM), 0);
  EXPECT_FALSE(relay_closed());
  const auto records = schema::StoreReader(data()).records_of(serial(120));
  ASSERT_EQ(records.size(), 1U) << "the broken-off test is kept before the end";
  EXPECT_EQ(records[0].record.verdict, "void");
}

TEST_F(KilledDaemon, ASecondDaemonOnTheSameStoreEndsBusy) {
  EndgateProcess daemon(config(), log());
  ASSERT_TRUE(serves(log()));
  EndgateProcess second(config(), folder_.path() / "second");
  std::this_thread::sleep_for(1500ms);
  EXPECT_EQ(second.end(0), 6);
}

}  // namespace
}  // namespace endgate::test
