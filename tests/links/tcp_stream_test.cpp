#include "daemon/links/tcp_stream.h"

#include <gtest/gtest.h>

#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <chrono>
#include <optional>
#include <thread>

namespace endgate::daemon {
namespace {

using namespace std::chrono_literals;
using boost::asio::ip::tcp;
using boost::system::error_code;

class TcpStreamTest : public ::testing::Test {
 protected:
  boost::asio::io_context io;
  tcp::acceptor acceptor{io, tcp::endpoint(boost::asio::ip::address_v4::loopback(), 0)};
  int connections = 0;

  void SetUp() override { accept(); }
  void accept() {
    acceptor.async_accept([this](error_code error, const tcp::socket&) {
      if (error) return;
      ++connections;
      accept();
    });
  }
  std::shared_ptr<ByteStream> stream_to(const std::string& host) {
    return make_tcp_stream(io.get_executor(), host, acceptor.local_endpoint().port());
  }
  error_code opened(ByteStream& stream) {
    std::optional<error_code> result;
    stream.open([&](error_code error) { result = error; });
    const auto give_up = std::chrono::steady_clock::now() + 10s;
    while (!result && std::chrono::steady_clock::now() < give_up) io.run_one_for(10ms);
    return result.value_or(boost::asio::error::timed_out);
  }
};

// The name of this machine may stand for an address first on which the device does not listen.
TEST_F(TcpStreamTest, FindsADeviceByNameWhicheverOfItsAddressesItListensOn) {
  for (const char* host : {"127.0.0.1", "localhost"}) {
    const auto stream = stream_to(host);
    EXPECT_FALSE(opened(*stream)) << host;
    stream->close();
  }
}

TEST_F(TcpStreamTest, ConnectsNoMoreOnceItIsClosedEvenIfTheNameWasFoundJustBefore) {
  const auto stream = stream_to("localhost");
  std::optional<error_code> result;
  stream->open([&](error_code error) { result = error; });
  std::this_thread::sleep_for(100ms);  // the name is found; nobody has heard of it yet
  stream->close();
  for (int i = 0; i < 20; ++i) io.run_one_for(5ms);
  EXPECT_TRUE(result && *result);
  EXPECT_EQ(connections, 0);
}

}  // namespace
}  // namespace endgate::daemon
