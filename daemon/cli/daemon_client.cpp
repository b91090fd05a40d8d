#include "daemon/cli/daemon_client.h"

#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/beast/core/flat_buffer.hpp>
#include <boost/beast/core/tcp_stream.hpp>
#include <boost/beast/http/read.hpp>
#include <boost/beast/http/string_body.hpp>
#include <boost/beast/http/write.hpp>
#include <chrono>
#include <nlohmann/json.hpp>
#include <string>

#include "schema/store_fault.h"

namespace endgate::daemon {
namespace {

namespace asio = boost::asio;
namespace beast = boost::beast;
namespace http = beast::http;
using Json = nlohmann::json;

struct Answered {
  unsigned status = 0;
  std::string body;
};

std::string place_of(const ServiceDefinition& service) {
  const bool v6 = service.listen_address.find(':') != std::string::npos;
  return (v6 ? "[" + service.listen_address + "]" : service.listen_address) + ":" +
         std::to_string(service.listen_port);
}

http::request<http::string_body> request_of(const ServiceDefinition& service,
                                            const std::string& target, const Json& body) {
  http::request<http::string_body> request{http::verb::post, target, 11};
  request.set(http::field::host, place_of(service));
  request.set(http::field::content_type, "application/json");
  request.keep_alive(false);
  request.body() = body.dump();
  request.prepare_payload();
  return request;
}

// Asynchronous only so that the deadline of the stream holds.
class Exchange {
 public:
  explicit Exchange(const ServiceDefinition& service) : service_(service), stream_(io_) {
    stream_.expires_after(kClientWaits);
  }

  Answered post(const std::string& target, const Json& body) {
    const asio::ip::tcp::endpoint daemon{asio::ip::make_address(service_.listen_address),
                                         service_.listen_port};
    const auto request = request_of(service_, target, body);
    http::response<http::string_body> response;
    beast::flat_buffer buffer;
    run([&](auto done) {
      stream_.async_connect(daemon, [done](auto error) mutable { done(error, 0); });
    });
    was_sent_ = true;
    run([&](auto done) { http::async_write(stream_, request, done); });
    run([&](auto done) { http::async_read(stream_, buffer, response, done); });
    return {response.result_int(), response.body()};
  }

  // What was asked may have been done although no answer came.
  [[nodiscard]] bool was_sent() const { return was_sent_; }

 private:
  template <class Operation>
  void run(Operation operation) {
    boost::system::error_code result = asio::error::timed_out;
    operation([&result](boost::system::error_code error, std::size_t) { result = error; });
    io_.restart();
    io_.run();
    if (result) throw boost::system::system_error(result);
  }

  const ServiceDefinition& service_;
  asio::io_context io_;
  beast::tcp_stream stream_;
  bool was_sent_ = false;
};

std::string text_in(const Json& body, const char* key) {
  const bool there = body.is_object() && body.contains(key) && body[key].is_string();
  return there ? body[key].get<std::string>() : std::string();
}

}  // namespace

Application::Entered accept_through_daemon(const ServiceDefinition& service,
                                           const Application::AcceptCommand& command) {
  return enter_through_daemon(service, "/api/v1/accept",
                              {{"file_name", command.file_name},
                               {"text", command.text},
                               {"by", command.by},
                               {"why", command.why},
                               {"second_by", command.second_by}});
}

Application::Entered enter_through_daemon(const ServiceDefinition& service,
                                          const std::string& target,
                                          const std::map<std::string, std::string>& fields) {
  Exchange exchange(service);
  try {
    const Answered answer = exchange.post(target, Json(fields));
    const Json body = Json::parse(answer.body, nullptr, false);
    if (answer.status == 200) return Application::Accepted{text_in(body, "accepted")};
    return CommandRefusal{static_cast<int>(answer.status), text_in(body, "code"),
                          text_in(body, "error")};
  } catch (const boost::system::system_error& error) {
    throw schema::StoreFault(
        schema::StoreFault::Kind::busy,
        "The store has an owner, but nobody answers at " + place_of(service) + " (" +
            error.code().message() + "). " +
            (exchange.was_sent() ? "What was sent may be kept: look before you enter it again."
                                 : "Nothing was kept. Try again."));
  }
}

}  // namespace endgate::daemon
