// A Modbus TCP device on loopback that does what a test says: answers from its registers, and late,
// drop by drop, wrongly or not at all when asked to.  Own parsing: it shares no code with the link.
// Lives on the test's io_context.

#pragma once

#include <array>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/read.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/write.hpp>
#include <chrono>
#include <cstdint>
#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <utility>
#include <vector>

namespace endgate::tests {

class ScriptedModbusPeer {
 public:
  using tcp = boost::asio::ip::tcp;
  struct Ask {
    std::uint16_t transaction = 0;
    std::uint8_t unit = 0, function = 0;
    std::uint16_t address = 0;
    std::uint16_t count = 0;            // read
    std::vector<std::uint16_t> values;  // write
    int connection = 0;
    std::chrono::steady_clock::time_point at{};  // when it was heard
    [[nodiscard]] bool is_write() const { return function == 6 || function == 16; }
    [[nodiscard]] bool writes(std::uint16_t register_, std::uint16_t value) const {
      return is_write() && address == register_ && !values.empty() && values[0] == value;
    }
  };
  using Bytes = std::vector<std::uint8_t>;

  explicit ScriptedModbusPeer(boost::asio::io_context& io)
      : io_(io), acceptor_(io, tcp::endpoint(boost::asio::ip::address_v4::loopback(), 0)) {
    accept();
  }

  [[nodiscard]] std::uint16_t port() const { return acceptor_.local_endpoint().port(); }

  // The script.  All optional.
  std::map<std::uint16_t, std::uint16_t> input, holding;
  std::function<void(const Ask&)> before_answer;  // registers may be brought up to date
  std::function<int(const Ask&)> refuse;          // exception code, 0: none
  std::function<void(const Ask&, Bytes&)> tamper;
  std::function<bool(const Ask&)> mute;
  std::function<std::chrono::milliseconds(const Ask&)> delay;
  std::optional<std::chrono::milliseconds> drip;  // one byte each so often

  // What was heard.
  std::vector<Ask> asked;
  int connections = 0;

  void take_no_more_connections() { acceptor_.close(); }
  void drop_connection() {
    if (!session_) return;
    boost::system::error_code ignored;
    session_->socket.close(ignored);
    session_.reset();
  }

 private:
  struct Session {
    explicit Session(tcp::socket socket_given, int number_given)
        : socket(std::move(socket_given)), number(number_given) {}
    tcp::socket socket;
    int number;
    std::array<std::uint8_t, 7> header{};
    Bytes body;
  };
  using SessionPtr = std::shared_ptr<Session>;

  void accept() {
    acceptor_.async_accept([this](boost::system::error_code error, tcp::socket socket) {
      if (error) return;
      socket.set_option(tcp::no_delay(true));
      session_ = std::make_shared<Session>(std::move(socket), ++connections);
      read_header(session_);
      accept();
    });
  }

  void read_header(const SessionPtr& session) {
    boost::asio::async_read(session->socket, boost::asio::buffer(session->header),
                            [this, session](boost::system::error_code error, std::size_t) {
                              if (!error) read_body(session);
                            });
  }

  void read_body(const SessionPtr& session) {
    const std::size_t length = static_cast<std::size_t>(word(session->header, 4)) - 1;
    session->body.resize(length);
    boost::asio::async_read(session->socket, boost::asio::buffer(session->body),
                            [this, session](boost::system::error_code error, std::size_t) {
                              if (!error) handle(session);
                            });
  }

  void handle(const SessionPtr& session) {
    const Ask ask = parse(*session);
    asked.push_back(ask);
    if (before_answer) before_answer(ask);
    if (!mute || !mute(ask)) {
      auto answer = std::make_shared<Bytes>(answer_to(ask));
      if (tamper) tamper(ask, *answer);
      const auto wait = delay ? delay(ask) : std::chrono::milliseconds(0);
      if (wait.count() == 0)
        send(session, answer, 0);
      else
        later(wait, [this, session, answer] { send(session, answer, 0); });
    }
    read_header(session);
  }

  void send(const SessionPtr& session, const std::shared_ptr<Bytes>& bytes, std::size_t from) {
    if (from >= bytes->size()) return;
    const std::size_t count = drip ? 1 : bytes->size() - from;
    boost::asio::async_write(
        session->socket, boost::asio::buffer(bytes->data() + from, count),
        [this, session, bytes, from, count](boost::system::error_code error, std::size_t) {
          if (error || !drip) return;
          later(*drip, [=, this] { send(session, bytes, from + count); });
        });
  }

  void later(std::chrono::milliseconds wait, std::function<void()> what) {
    auto timer = std::make_shared<boost::asio::steady_timer>(io_, wait);
    timer->async_wait([timer, what = std::move(what)](boost::system::error_code) { what(); });
  }

  static Ask parse(const Session& session) {
    Ask ask;
    ask.transaction = word(session.header, 0);
    ask.unit = session.header[6];
    ask.connection = session.number;
    ask.at = std::chrono::steady_clock::now();
    ask.function = session.body[0];
    ask.address = word(session.body, 1);
    if (ask.function == 6) ask.values = {word(session.body, 3)};
    if (ask.function == 3 || ask.function == 4) ask.count = word(session.body, 3);
    if (ask.function == 16)
      for (std::size_t at = 6; at + 1 < session.body.size(); at += 2)
        ask.values.push_back(word(session.body, at));
    return ask;
  }

  Bytes answer_to(const Ask& ask) {
    const int exception = refuse ? refuse(ask) : 0;
    Bytes pdu;
    if (exception != 0) {
      pdu = {static_cast<std::uint8_t>(ask.function | 0x80), static_cast<std::uint8_t>(exception)};
    } else if (ask.is_write()) {
      for (std::size_t i = 0; i < ask.values.size(); ++i)
        holding[static_cast<std::uint16_t>(ask.address + i)] = ask.values[i];
      pdu = {ask.function};
      put(pdu, ask.address);
      put(pdu, ask.function == 6 ? ask.values[0] : static_cast<std::uint16_t>(ask.values.size()));
    } else {
      pdu = {ask.function, static_cast<std::uint8_t>(2 * ask.count)};
      auto& registers = ask.function == 3 ? holding : input;
      for (std::uint16_t i = 0; i < ask.count; ++i)
        put(pdu, registers[static_cast<std::uint16_t>(ask.address + i)]);
    }
    return framed(ask, pdu);
  }

  static Bytes framed(const Ask& ask, const Bytes& pdu) {
    Bytes bytes;
    put(bytes, ask.transaction);
    put(bytes, 0);
    put(bytes, static_cast<std::uint16_t>(pdu.size() + 1));
    bytes.push_back(ask.unit);
    bytes.insert(bytes.end(), pdu.begin(), pdu.end());
    return bytes;
  }

  template <class Container>
  static std::uint16_t word(const Container& bytes, std::size_t at) {
    return static_cast<std::uint16_t>(bytes[at] << 8 | bytes[at + 1]);
  }
  static void put(Bytes& bytes, std::uint16_t value) {
    bytes.push_back(static_cast<std::uint8_t>(value >> 8));
    bytes.push_back(static_cast<std::uint8_t>(value & 0xff));
  }

  boost::asio::io_context& io_;
  tcp::acceptor acceptor_;
  SessionPtr session_;
};

}  // namespace endgate::tests
