#include "daemon/links/serial_stream.h"

#include <sys/file.h>
#include <sys/ioctl.h>
#include <termios.h>

#include <array>
#include <boost/asio/error.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/serial_port.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/write.hpp>
#include <cerrno>
#include <utility>

namespace endgate::daemon {
namespace {

namespace asio = boost::asio;
using asio::serial_port_base;
using boost::system::error_code;

serial_port_base::parity parity_of(Parity parity) {
  using P = serial_port_base::parity;
  return P(parity == Parity::even ? P::even : parity == Parity::odd ? P::odd : P::none);
}

serial_port_base::stop_bits stop_bits_of(int count) {
  using S = serial_port_base::stop_bits;
  return S(count == 2 ? S::two : S::one);
}

class SerialStream final : public ByteStream, public std::enable_shared_from_this<SerialStream> {
 public:
  SerialStream(asio::any_io_executor executor, SerialSettings settings)
      : settings_(std::move(settings)), executor_(executor), port_(executor), timer_(executor) {}

  void open(Done done) override {
    const error_code error = open_port();
    if (!error) return wait_for_silence(++opening_, std::move(done));
    asio::post(executor_, [done = std::move(done), error] { done(error); });
  }

  void write(std::span<const std::uint8_t> bytes, Done done) override {
    asio::async_write(port_, asio::buffer(bytes.data(), bytes.size()),
                      [done = std::move(done)](error_code error, std::size_t) { done(error); });
  }

  void read(std::span<std::uint8_t> into, Received received) override {
    port_.async_read_some(asio::buffer(into.data(), into.size()), std::move(received));
  }

  void close() override {
    ++opening_;
    timer_.cancel();
    give_up_port();
  }

 private:
  error_code open_port() {
    error_code error;
    port_.open(settings_.path, error);
    if (!error) error = take_alone();
    if (!error) error = set_options();
    if (error) give_up_port();
    return error;
  }

  void give_up_port() {
    if (!port_.is_open()) return;
    ::ioctl(port_.native_handle(), TIOCNXCL);  // another holder may keep the terminal alive
    error_code ignored;
    port_.close(ignored);
  }

  error_code take_alone() {
    const int handle = port_.native_handle();
    if (::flock(handle, LOCK_EX | LOCK_NB) != 0) return asio::error::already_open;
    if (::ioctl(handle, TIOCEXCL) != 0) return {errno, boost::system::system_category()};
    return {};
  }

  error_code set_options() {
    error_code error;
    port_.set_option(serial_port_base::baud_rate(settings_.baud), error);
    if (!error) port_.set_option(serial_port_base::character_size(8), error);
    if (!error) port_.set_option(parity_of(settings_.parity), error);
    if (!error) port_.set_option(stop_bits_of(settings_.stop_bits), error);
    using Flow = serial_port_base::flow_control;
    if (!error) port_.set_option(Flow(Flow::none), error);
    return error;
  }

  // Whatever was under way on the line is over when nothing came for resync_silence.
  void wait_for_silence(std::uint64_t opening, Done done) {
    ::tcflush(port_.native_handle(), TCIOFLUSH);
    timer_.expires_after(settings_.resync_silence);
    timer_.async_wait(
        [self = shared_from_this(), opening, done = std::move(done)](error_code error) {
          if (error || opening != self->opening_) return;
          if (self->heard_something()) return self->wait_for_silence(opening, done);
          done({});
        });
  }

  bool heard_something() {
    int waiting = 0;
    return ::ioctl(port_.native_handle(), FIONREAD, &waiting) == 0 && waiting > 0;
  }

  const SerialSettings settings_;
  asio::any_io_executor executor_;
  asio::serial_port port_;
  asio::steady_timer timer_;
  std::uint64_t opening_ = 0;
};

}  // namespace

std::shared_ptr<ByteStream> make_serial_stream(asio::any_io_executor executor,
                                               SerialSettings settings) {
  return std::make_shared<SerialStream>(std::move(executor), std::move(settings));
}

std::chrono::nanoseconds character_time(const SerialSettings& settings) {
  const int bits = 1 + 8 + (settings.parity == Parity::none ? 0 : 1) + settings.stop_bits;
  return std::chrono::nanoseconds(1'000'000'000LL * bits / settings.baud);
}

}  // namespace endgate::daemon
