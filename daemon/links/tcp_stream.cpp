#include "daemon/links/tcp_stream.h"

#include <netinet/tcp.h>
#include <sys/socket.h>

#include <array>
#include <boost/asio/connect.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/write.hpp>
#include <utility>

namespace endgate::daemon {
namespace {

namespace asio = boost::asio;
using asio::ip::tcp;
using boost::system::error_code;

constexpr unsigned kUserTimeout_ms = 800;

class TcpStream final : public ByteStream, public std::enable_shared_from_this<TcpStream> {
 public:
  TcpStream(asio::any_io_executor executor, std::string host, std::uint16_t port)
      : host_(std::move(host)), port_(port), resolver_(executor), socket_(executor) {}

  void open(Done done) override {
    error_code not_numeric;
    const auto address = asio::ip::make_address(host_, not_numeric);
    if (!not_numeric) return connect(std::array{tcp::endpoint(address, port_)}, std::move(done));
    resolver_.async_resolve(host_, std::to_string(port_),
                            [self = shared_from_this(), mine = opening_, done = std::move(done)](
                                error_code error, auto results) {
                              if (!error && mine != self->opening_)
                                error = asio::error::operation_aborted;
                              if (error || results.empty())
                                return done(error ? error : asio::error::host_not_found);
                              self->connect(results, done);
                            });
  }

  void write(std::span<const std::uint8_t> bytes, Done done) override {
    asio::async_write(socket_, asio::buffer(bytes.data(), bytes.size()),
                      [done = std::move(done)](error_code error, std::size_t) { done(error); });
  }

  void read(std::span<std::uint8_t> into, Received received) override {
    socket_.async_read_some(asio::buffer(into.data(), into.size()), std::move(received));
  }

  void close() override {
    error_code ignored;
    ++opening_;
    resolver_.cancel();
    socket_.close(ignored);
  }

 private:
  // One after the other: a name may have addresses on which the device does not listen.
  template <class Endpoints>
  void connect(const Endpoints& endpoints, Done done) {
    asio::async_connect(
        socket_, endpoints,
        [self = shared_from_this(), done = std::move(done)](error_code error, const auto&) {
          if (!error) self->connected();
          done(error);
        });
  }

  void connected() {
    error_code ignored;
    socket_.set_option(tcp::no_delay(true), ignored);
    const unsigned timeout = kUserTimeout_ms;
    ::setsockopt(socket_.native_handle(), IPPROTO_TCP, TCP_USER_TIMEOUT, &timeout, sizeof timeout);
  }

  const std::string host_;
  const std::uint16_t port_;
  std::uint64_t opening_ = 0;  // a name that was found after close() is too late
  tcp::resolver resolver_;
  tcp::socket socket_;
};

}  // namespace

std::shared_ptr<ByteStream> make_tcp_stream(asio::any_io_executor executor, std::string host,
                                            std::uint16_t port) {
  return std::make_shared<TcpStream>(std::move(executor), std::move(host), port);
}

}  // namespace endgate::daemon
