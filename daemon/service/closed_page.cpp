#include "daemon/service/closed_page.h"

#include <boost/asio/as_tuple.hpp>
#include <boost/asio/awaitable.hpp>
#include <boost/asio/buffer.hpp>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/detached.hpp>
#include <boost/asio/io_context.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/read_until.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <boost/asio/write.hpp>
#include <thread>

#include "daemon/service/listen.h"
#include "daemon/service/page_answer.h"
#include "daemon/service/response_head.h"
#include "reports/node.h"

namespace endgate::daemon {
namespace {

namespace asio = boost::asio;
using asio::ip::tcp;

constexpr auto kErrorsAsValues = asio::as_tuple(asio::use_awaitable);
constexpr std::size_t kLongestHead = 8192;
constexpr int kAskAgain_s = 5;
constexpr std::chrono::milliseconds kPauseAfterFailure{100};

std::string page_with(const std::string& sentence) {
  return "<!doctype html>\n<html lang=\"en\"><head><meta charset=\"utf-8\">"
         "<meta http-equiv=\"refresh\" content=\"" +
         std::to_string(kAskAgain_s) +
         "\"><title>Endgate cannot begin</title></head>\n<body><h1>No test can be run</h1><p>" +
         reports::escaped(sentence) + "</p></body></html>\n";
}

Response answer_to(std::string_view head, const std::string& sentence) {
  const bool by_program = head.find(" /api/") != std::string_view::npos ||
                          head.find(" /readyz ") != std::string_view::npos;
  Response response = by_program ? refusal(503, "S-120", sentence) : html(page_with(sentence), 503);
  response.cache_control = "no-store";
  response.retry_after_s = kAskAgain_s;
  response.close = true;
  return response;
}

// Ends with its deadline whatever it is waiting for.
struct Client {
  explicit Client(tcp::socket accepted) : socket(std::move(accepted)), end(socket.get_executor()) {}
  tcp::socket socket;
  asio::steady_timer end;
};
using ClientPtr = std::shared_ptr<Client>;

asio::awaitable<void> serve(ClientPtr client, const std::string& sentence) {
  std::string head;
  const auto [error, size] = co_await asio::async_read_until(
      client->socket, asio::dynamic_buffer(head, kLongestHead), "\r\n\r\n", kErrorsAsValues);
  if (error) co_return;
  const Response response = answer_to(std::string_view(head).substr(0, size), sentence);
  const std::string text = response_head(response) + response.body;
  co_await asio::async_write(client->socket, asio::buffer(text), kErrorsAsValues);
  boost::system::error_code ignored;
  client->socket.shutdown(tcp::socket::shutdown_both, ignored);
}

}  // namespace

struct ClosedPage::Impl {
  Impl(const HttpSettings& settings, std::string given) : sentence(std::move(given)) {
    listen(acceptor, settings);
    asio::co_spawn(io, accept_all(), asio::detached);
    thread = std::thread([this] { io.run(); });
  }
  ~Impl() {
    io.stop();
    thread.join();
  }

  asio::awaitable<void> accept_all() {
    asio::steady_timer pause(io);
    while (true) {
      auto [error, socket] = co_await acceptor.async_accept(kErrorsAsValues);
      if (!error) {
        if (clients < kMostClients) admit(std::make_shared<Client>(std::move(socket)));
        continue;
      }
      pause.expires_after(kPauseAfterFailure);
      co_await pause.async_wait(kErrorsAsValues);
    }
  }

  void admit(const ClientPtr& client) {
    ++clients;
    client->end.expires_after(kClientDeadline);
    client->end.async_wait([weak = std::weak_ptr(client)](boost::system::error_code error) {
      const ClientPtr late = error ? nullptr : weak.lock();
      boost::system::error_code ignored;
      if (late) late->socket.close(ignored);
    });
    asio::co_spawn(io, serve(client, sentence), [this](const std::exception_ptr&) { --clients; });
  }

  const std::string sentence;
  asio::io_context io{1};
  tcp::acceptor acceptor{io};
  std::size_t clients = 0;
  std::thread thread;
};

ClosedPage::ClosedPage(const HttpSettings& settings, std::string sentence)
    : impl_(std::make_unique<Impl>(settings, std::move(sentence))) {}

ClosedPage::~ClosedPage() = default;

std::uint16_t ClosedPage::port() const { return impl_->acceptor.local_endpoint().port(); }

}  // namespace endgate::daemon
