// Stands in for the service's JSON API of one bench, for tests of the line operator.

#pragma once

#include <atomic>
#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/beast/core/flat_buffer.hpp>
#include <boost/beast/http/read.hpp>
#include <boost/beast/http/string_body.hpp>
#include <boost/beast/http/write.hpp>
#include <nlohmann/json.hpp>
#include <string>
#include <thread>
#include <vector>

namespace line_operator {

class FakeService {
 public:
  using Request = boost::beast::http::request<boost::beast::http::string_body>;

  FakeService() : acceptor_(io_, {boost::asio::ip::address_v4::loopback(), 0}) {
    thread_ = std::thread([this] { serve(); });
  }
  ~FakeService() {
    ending_ = true;
    boost::asio::io_context io;  // wakes the accept
    boost::asio::ip::tcp::socket knock(io);
    boost::system::error_code ignored;
    knock.connect(acceptor_.local_endpoint(), ignored);
    knock.close(ignored);
    thread_.join();
  }
  FakeService(const FakeService&) = delete;
  FakeService& operator=(const FakeService&) = delete;

  [[nodiscard]] std::string port() const {
    return std::to_string(acceptor_.local_endpoint().port());
  }

  // Set before the client comes.
  bool refuse_start = false;
  bool close_after_each_answer = false;

  // Looked at when the client is done.
  std::vector<std::string> asked;  // "POST /api/v1/benches/north/scan {...}"

 private:
  void serve() {
    while (!ending_) {
      boost::asio::ip::tcp::socket link(io_);
      acceptor_.accept(link);
      try {
        while (!ending_ && converse(link)) {
        }
      } catch (const boost::system::system_error&) {
        // The client went away.
      }
    }
  }

  bool converse(boost::asio::ip::tcp::socket& link) {
    Request request;
    boost::beast::http::read(link, buffer_, request);
    boost::beast::http::response<boost::beast::http::string_body> response;
    response.version(11);
    const auto [status, body] = answer(request);
    response.result(status);
    response.body() = body.dump();
    response.keep_alive(true);  // promised; whether it is kept is `close_after_each_answer`
    response.prepare_payload();
    boost::beast::http::write(link, response);
    return !close_after_each_answer;
  }

  std::pair<unsigned, nlohmann::json> answer(const Request& request) {
    const std::string target(request.target());
    asked.push_back(std::string(request.method_string()) + " " + target + " " + request.body());
    if (target.ends_with("/scan")) {
      serial_ = nlohmann::json::parse(request.body()).at("serial");
      looks_ = 0;
      phase_ = "ready";
    } else if (target.ends_with("/start")) {
      if (refuse_start) return {409, {{"code", "B-201"}, {"error", "The cover is open."}}};
      phase_ = "running";
    } else if (phase_ == "running" && ++looks_ > 3) {
      phase_ = "verdict";
    }
    nlohmann::json state{{"phase", phase_}, {"serial", serial_}};
    if (phase_ == "verdict")
      state.update({{"verdict", "pass"}, {"reason", "All limits hold."}, {"position", 12}});
    return {200, state};
  }

  boost::asio::io_context io_;
  boost::asio::ip::tcp::acceptor acceptor_;
  boost::beast::flat_buffer buffer_;
  std::string phase_ = "free", serial_;
  int looks_ = 0;
  std::atomic<bool> ending_ = false;
  std::thread thread_;
};

}  // namespace line_operator
