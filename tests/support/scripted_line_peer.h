// An instrument on loopback that answers each line as a test says, with its own error queue.

#pragma once

#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/read_until.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/write.hpp>
#include <chrono>
#include <deque>
#include <functional>
#include <memory>
#include <string>
#include <vector>

namespace endgate::tests {

class ScriptedLinePeer {
 public:
  using tcp = boost::asio::ip::tcp;

  explicit ScriptedLinePeer(boost::asio::io_context& io)
      : io_(io), acceptor_(io, tcp::endpoint(boost::asio::ip::address_v4::loopback(), 0)) {
    accept();
  }
  [[nodiscard]] std::uint16_t port() const { return acceptor_.local_endpoint().port(); }

  // The script: what is said to a line; "" says nothing.  The error query is answered here.
  std::function<std::string(const std::string&)> answer;
  std::function<std::chrono::milliseconds(const std::string&)> delay;
  std::deque<std::string> errors;
  std::vector<std::string> heard;
  int connections = 0;

 private:
  struct Session {
    explicit Session(tcp::socket given) : socket(std::move(given)) {}
    tcp::socket socket;
    std::string buffer;
  };
  using SessionPtr = std::shared_ptr<Session>;

  void accept() {
    acceptor_.async_accept([this](boost::system::error_code error, tcp::socket socket) {
      if (error) return;
      ++connections;
      listen(std::make_shared<Session>(std::move(socket)));
      accept();
    });
  }

  void listen(const SessionPtr& session) {
    boost::asio::async_read_until(
        session->socket, boost::asio::dynamic_buffer(session->buffer), '\n',
        [this, session](boost::system::error_code error, std::size_t count) {
          if (error) return;
          std::string line = session->buffer.substr(0, count - 1);
          session->buffer.erase(0, count);
          take(session, std::move(line));
          listen(session);
        });
  }

  void take(const SessionPtr& session, std::string line) {
    heard.push_back(line);
    const std::string text = line == "SYST:ERR?" ? next_error() : answer ? answer(line) : "";
    if (text.empty()) return;
    const auto wait = delay ? delay(line) : std::chrono::milliseconds(0);
    if (wait.count() == 0) return say(session, text);
    auto timer = std::make_shared<boost::asio::steady_timer>(io_, wait);
    timer->async_wait([session, text, timer](boost::system::error_code) { say(session, text); });
  }

  static void say(const SessionPtr& session, const std::string& text) {
    auto bytes = std::make_shared<std::string>(text + "\n");
    boost::asio::async_write(session->socket, boost::asio::buffer(*bytes),
                             [bytes, session](boost::system::error_code, std::size_t) {});
  }

  std::string next_error() {
    if (errors.empty()) return "0,\"No error\"";
    std::string error = errors.front();
    errors.pop_front();
    return error;
  }

  boost::asio::io_context& io_;
  tcp::acceptor acceptor_;
};

}  // namespace endgate::tests
