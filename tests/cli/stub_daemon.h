// One HTTP answer on a free loopback port, whatever is asked; remembers the question.

#pragma once

#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/read.hpp>
#include <boost/asio/read_until.hpp>
#include <boost/asio/write.hpp>
#include <string>
#include <thread>

namespace endgate::test {

class StubDaemon {
 public:
  StubDaemon(int status, std::string body)
      : answer_("HTTP/1.1 " + std::to_string(status) + " x\r\nContent-Length: " +
                std::to_string(body.size()) + "\r\nConnection: close\r\n\r\n" + body),
        thread_([this] { serve_one(); }) {}
  ~StubDaemon() {
    if (thread_.joinable()) thread_.join();
  }
  StubDaemon(const StubDaemon&) = delete;
  StubDaemon& operator=(const StubDaemon&) = delete;

  [[nodiscard]] std::uint16_t port() const { return acceptor_.local_endpoint().port(); }
  [[nodiscard]] const std::string& request() {  // once it was answered
    thread_.join();
    return request_;
  }

 private:
  void serve_one() {
    boost::asio::ip::tcp::socket client(io_);
    acceptor_.accept(client);
    const std::size_t head =
        boost::asio::read_until(client, boost::asio::dynamic_buffer(request_), "\r\n\r\n");
    const std::size_t whole = head + body_size();
    if (request_.size() < whole)
      boost::asio::read(client, boost::asio::dynamic_buffer(request_),
                        boost::asio::transfer_exactly(whole - request_.size()));
    boost::asio::write(client, boost::asio::buffer(answer_));
  }

  [[nodiscard]] std::size_t body_size() const {
    const std::string name = "Content-Length: ";
    const std::size_t at = request_.find(name);
    return at == std::string::npos ? 0 : std::stoul(request_.substr(at + name.size()));
  }

  std::string answer_, request_;
  boost::asio::io_context io_;
  boost::asio::ip::tcp::acceptor acceptor_{
      io_, {boost::asio::ip::address_v4::loopback(), std::uint16_t{0}}};
  std::thread thread_;  // last: uses all of the above
};

}  // namespace endgate::test
