// The disk of the store hangs when the service starts: motors go off all the same, and stay off.

#include <sys/stat.h>

#include "tests/line/left_running.h"

namespace endgate::test {
namespace {

// Whoever opens such a file for reading is held for ever, as by a disk that does not answer.
void hang(const fs::path& file) {
  fs::remove(file);
  ASSERT_EQ(mkfifo(file.c_str(), 0600), 0);
}

class HungDiskAtStart : public LeftRunning {
 protected:
  void SetUp() override {
    LeftRunning::SetUp();
    replace_value(config() / "service.toml", "data_directory", "\"data\"");
    accept_all(config(), data());
    leave_the_motor_running();
  }
  [[nodiscard]] fs::path data() const { return config() / "data"; }
  [[nodiscard]] fs::path log() const { return folder_.path() / "log"; }
};

TEST_F(HungDiskAtStart, MotorsOffGoesOutBeforeTheStoreIsOpened) {
  hang(data() / "signing.key");
  EndgateProcess service(config(), log());
  EXPECT_TRUE(relay_opens());
  EXPECT_EQ(text_in(log()), "") << "the store must hang";
}

// As a bench that is reached only later, or whose relay closes again.
TEST_F(HungDiskAtStart, MotorsOffGoesOutAgainWhileTheStoreHangs) {
  hang(data() / "signing.key");
  EndgateProcess service(config(), log());
  ASSERT_TRUE(relay_opens());
  std::this_thread::sleep_for(500ms);  // the first act is over
  simbench::Libmodbus(bench_.port()).write(kRelay, 1);
  EXPECT_TRUE(relay_opens());
}

// Not even a look at who owns the store holds it.
TEST_F(HungDiskAtStart, MotorsOffWaitsForNoLookAtTheStore) {
  hang(data() / "signing.key");
  hang(data() / "owner.lock");
  EndgateProcess service(config(), log());
  EXPECT_TRUE(relay_opens());
}

}  // namespace
}  // namespace endgate::test
