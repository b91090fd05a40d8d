// The disk is full when the service starts: it says so on its page and begins once there is space.

#include <gmock/gmock.h>
#include <pthread.h>
#include <signal.h>

#include <boost/asio/connect.hpp>
#include <boost/asio/read.hpp>
#include <thread>

#include "daemon/cli/exit_status.h"
#include "daemon/cli/run_service.h"
#include "tests/line/endgate_process.h"
#include "tests/line/line_plant.h"
#include "tests/support/shim_vfs.h"

namespace endgate::test {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::StartsWith;

// What a browser gets; empty when nobody listens.
std::string got(std::uint16_t port, const std::string& target) {
  boost::asio::io_context io;
  boost::asio::ip::tcp::socket socket(io);
  boost::system::error_code error;
  socket.connect({boost::asio::ip::address_v4::loopback(), port}, error);
  if (error) return "";
  const std::string request = "GET " + target +
                              " HTTP/1.1\r\nHost: 127.0.0.1:" + std::to_string(port) +
                              "\r\nConnection: close\r\n\r\n";
  boost::asio::write(socket, boost::asio::buffer(request), error);
  std::string answer;
  boost::asio::read(socket, boost::asio::dynamic_buffer(answer), error);
  return answer;
}

class FullDiskAtStart : public ::testing::Test {
 protected:
  void SetUp() override {
    write_config(config(), bench_.port(), 12);
    replace_value(config() / "service.toml", "listen_port", std::to_string(port_));
    accept_all(config(), config() / "data");
    shim_.fail_at(ShimVfs::What::write, 1, SQLITE_FULL, "records.db");
    thread_ = std::thread([this] { status_ = daemon::run_service(config()); });
  }
  void TearDown() override {
    if (thread_.joinable()) end();
  }
  int end() {
    pthread_kill(thread_.native_handle(), SIGTERM);  // which waits for it
    thread_.join();
    return status_;
  }
  // The first answer with this status.
  std::string wait_for(const std::string& target, const std::string& status) {
    std::string answer;
    for (int tries = 0; tries < 600 && !answer.starts_with("HTTP/1.1 " + status); ++tries) {
      answer = got(port_, target);
      std::this_thread::sleep_for(50ms);
    }
    return answer;
  }
  [[nodiscard]] fs::path config() const { return folder_.path() / "config"; }

  TemporaryFolder folder_;
  simbench::ServedBench bench_{12, in_a_room()};
  std::uint16_t port_ = free_port();
  ShimVfs shim_;
  std::thread thread_;
  int status_ = -1;
};

TEST_F(FullDiskAtStart, ThePageSaysSoAndTheServiceBeginsOnceThereIsSpace) {
  EXPECT_THAT(wait_for("/", "503"),
              AllOf(HasSubstr("text/html"), HasSubstr("is full, so nothing can be kept"),
                    HasSubstr("Motor off was read back from bench north.")));
  EXPECT_THAT(got(port_, "/readyz"), AllOf(StartsWith("HTTP/1.1 503"), HasSubstr("\"S-120\"")));
  shim_.heal();
  EXPECT_THAT(wait_for("/", "200"), HasSubstr("<title>"));
  EXPECT_EQ(end(), daemon::kOk);
}

TEST_F(FullDiskAtStart, AServiceThatWaitsEndsWhenItIsTold) {
  wait_for("/", "503");
  EXPECT_EQ(end(), daemon::kStorage);
}

}  // namespace
}  // namespace endgate::test
