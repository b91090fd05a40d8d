#include "daemon/service/http_server.h"

#include <boost/asio/as_tuple.hpp>
#include <boost/asio/awaitable.hpp>
#include <boost/asio/co_spawn.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/use_awaitable.hpp>
#include <boost/asio/write.hpp>
#include <set>
#include <thread>

#include "daemon/service/gate.h"
#include "daemon/service/head_scan.h"
#include "daemon/service/listen.h"
#include "daemon/service/live_feed.h"
#include "daemon/service/parse_head.h"
#include "daemon/service/rate_limit.h"
#include "daemon/service/response_head.h"
#include "daemon/service/routes.h"
#include "daemon/service/service_thread.h"
#include "daemon/service/target.h"

namespace endgate::daemon {
namespace {

namespace asio = boost::asio;
using asio::ip::tcp;
using Clock = std::chrono::steady_clock;
using namespace std::chrono_literals;

constexpr auto kQuiet = asio::as_tuple(asio::use_awaitable);  // errors as values

constexpr auto kHeadDeadline = 5s, kBodyDeadline = 10s, kIdleDeadline = 30s, kWriteDeadline = 10s;
constexpr auto kPartDeadline = 1s;
constexpr auto kHeartbeat = 1s;       // a page gives up contact after 3 s
constexpr auto kSweep = 100ms;        // how often deadlines are looked at
constexpr auto kAcceptPause = 100ms;  // after a failed accept, so that it does not spin

constexpr std::size_t kMostConnections = 256, kMostPerAddress = 24;
constexpr std::size_t kReserved = 8;  // the last ones, on which only Stop is served

}  // namespace

// One client.  Everything happens on the service thread.
struct Connection {
  explicit Connection(tcp::socket accepted)
      : socket(std::move(accepted)), bell(socket.get_executor()) {}

  tcp::socket socket;
  asio::steady_timer bell;  // cancelled when there is something new to look at
  std::string address;
  std::string bytes;       // arrived and not used yet
  bool only_stop = false;  // holds a reserved place
  Clock::time_point admitted = Clock::now();
  Clock::time_point deadline = Clock::now() + kHeadDeadline;
};
using ConnectionPtr = std::shared_ptr<Connection>;

// The coroutines of one client take it by reference: serve() holds it for as long as they run.
struct HttpServer::Impl {
  Impl(const HttpSettings& given, Application& app, TellStray stray);
  ~Impl();

  asio::awaitable<void> accept_all();
  asio::awaitable<void> sweep();
  asio::awaitable<void> serve(ConnectionPtr client);
  asio::awaitable<bool> serve_one(const ConnectionPtr& client);
  asio::awaitable<bool> read_head(const ConnectionPtr& client, std::string& head);
  asio::awaitable<bool> read_body(const ConnectionPtr& client, Request& request);
  asio::awaitable<Response> ask(const ConnectionPtr& client, const Request& request);
  asio::awaitable<bool> send(const ConnectionPtr& client, const Response& response);
  asio::awaitable<void> tell_live(const ConnectionPtr& client, const std::string& bench);
  asio::awaitable<std::string> next_news(const ConnectionPtr& client, LiveListener& listener);
  asio::awaitable<void> part(const ConnectionPtr& client);
  asio::awaitable<bool> write(const ConnectionPtr& client, std::string_view first,
                              std::string_view second);
  void admit(tcp::socket socket);
  void make_room(const std::string& address);  // empty: of any
  std::optional<Response> refused_by_head(const std::string& bytes, RequestHead& head) const;
  std::optional<Response> refused_before_route(const ConnectionPtr& client, Request& request);

  HttpSettings settings;
  Application& application;
  asio::io_context io{1};
  tcp::acceptor acceptor{io};
  std::shared_ptr<ServiceThread> service = std::make_shared<ServiceThread>(io);
  std::unique_ptr<LiveFeed> feed;
  std::vector<std::string> hosts;
  RateLimit rate_limit;
  std::set<ConnectionPtr> connections;
  std::thread thread;
};

namespace {

Response bad_request(std::string_view sentence, int status = 400) {
  Response response = refusal(status, "N-400", sentence);
  response.close = true;
  return response;
}

bool wants_close(const RequestHead& head) {
  return lower_case(head.value("connection")) == "close";
}

void close(Connection& client) {
  boost::system::error_code ignored;
  client.socket.shutdown(tcp::socket::shutdown_both, ignored);
  client.socket.close(ignored);
  client.bell.cancel();
}

// Into io.run(), where it is told; `detached` would end the pages in silence.
void throw_on(const std::exception_ptr& stray) {
  if (stray) std::rethrow_exception(stray);
}

}  // namespace

HttpServer::Impl::Impl(const HttpSettings& given, Application& app, TellStray stray)
    : settings(given), application(app) {
  listen(acceptor, settings);
  hosts = allowed_hosts(settings.address, acceptor.local_endpoint().port());
  feed = std::make_unique<LiveFeed>(application, [this, service = service] {
    service->post([this] {
      for (const ConnectionPtr& client : connections) client->bell.cancel();
    });
  });
  asio::co_spawn(io, accept_all(), throw_on);
  asio::co_spawn(io, sweep(), throw_on);
  thread = std::thread([this, tell = std::move(stray)] { run_to_end(io, tell); });
}

// Pages that listen ask the feed until their thread has ended.
HttpServer::Impl::~Impl() {
  service->close();
  io.stop();
  thread.join();
  feed.reset();
}

asio::awaitable<void> HttpServer::Impl::accept_all() {
  asio::steady_timer pause(io);
  while (true) {
    auto [error, socket] = co_await acceptor.async_accept(kQuiet);
    if (!error) {
      admit(std::move(socket));
      continue;
    }
    pause.expires_after(kAcceptPause);  // out of descriptors: wait, never spin, never give up
    co_await pause.async_wait(kQuiet);
  }
}

void HttpServer::Impl::admit(tcp::socket socket) {
  boost::system::error_code error;
  const tcp::endpoint peer = socket.remote_endpoint(error);
  if (error) return;  // closes
  auto client = std::make_shared<Connection>(std::move(socket));
  client->address = peer.address().to_string();
  const auto same = std::count_if(connections.begin(), connections.end(), [&](const auto& other) {
    return other->address == client->address;
  });
  const auto from_there = static_cast<std::size_t>(same);
  if (from_there >= kMostPerAddress + kReserved) make_room(client->address);
  if (connections.size() >= kMostConnections) make_room("");
  client->only_stop =
      connections.size() + kReserved >= kMostConnections || from_there >= kMostPerAddress;
  client->socket.set_option(tcp::no_delay(true), error);
  connections.insert(client);
  asio::co_spawn(io, serve(client), [this, client](const std::exception_ptr&) {
    close(*client);
    connections.erase(client);
  });
}

// Who only holds a reserved place must not keep Stop out: the oldest gives way to the newest.  A
// Stop comes in one piece and is answered at once, so it does not grow old.
void HttpServer::Impl::make_room(const std::string& address) {
  ConnectionPtr oldest;
  for (const ConnectionPtr& client : connections) {
    const bool may_go = client->only_stop && (address.empty() || client->address == address);
    if (may_go && (!oldest || client->admitted < oldest->admitted)) oldest = client;
  }
  if (!oldest) return;
  close(*oldest);
  connections.erase(oldest);
}

// One look at all deadlines instead of a timer for each: a client that drips, stalls or sleeps is
// closed wherever it is waited for.
asio::awaitable<void> HttpServer::Impl::sweep() {
  asio::steady_timer timer(io);
  while (true) {
    timer.expires_after(kSweep);
    co_await timer.async_wait(kQuiet);
    for (const ConnectionPtr& client : connections)
      if (client->deadline < Clock::now()) close(*client);
  }
}

asio::awaitable<void> HttpServer::Impl::serve(ConnectionPtr client) {
  bool more = true;
  while (more) {
    more = co_await serve_one(client);
    client->deadline = Clock::now() + kIdleDeadline;
  }
  co_await part(client);
}

// Closing with unread bytes would reset the connection and take the last answer with it.
asio::awaitable<void> HttpServer::Impl::part(const ConnectionPtr& client) {
  boost::system::error_code error;
  client->socket.shutdown(tcp::socket::shutdown_send, error);
  client->deadline = Clock::now() + kPartDeadline;
  std::array<char, 4096> unread{};
  while (!error)
    std::tie(error, std::ignore) =
        co_await client->socket.async_read_some(asio::buffer(unread), kQuiet);
}

// False: the connection ends.
asio::awaitable<bool> HttpServer::Impl::serve_one(const ConnectionPtr& client) {
  std::string head;
  const bool arrived = co_await read_head(client, head);
  if (!arrived) co_return false;
  Request request;
  std::optional<Response> response = refused_by_head(head, request.head);
  if (!response) {
    const bool whole = co_await read_body(client, request);
    if (!whole) co_return false;
    response = refused_before_route(client, request);
  }
  if (!response) response = co_await ask(client, request);
  if (response->live_bench) {
    co_await tell_live(client, *response->live_bench);
    co_return false;
  }
  if (wants_close(request.head)) response->close = true;
  const bool sent = co_await send(client, *response);
  co_return sent && !response->close;
}

std::optional<Response> HttpServer::Impl::refused_by_head(const std::string& bytes,
                                                          RequestHead& head) const {
  std::optional<RequestHead> parsed = parse_head(bytes);
  if (!parsed) return bad_request("The request is not well formed.");
  head = std::move(*parsed);
  return refused_by_gate(head, hosts);
}

// True: a whole head is in `head`, and nothing in it hides a second reading.
asio::awaitable<bool> HttpServer::Impl::read_head(const ConnectionPtr& client, std::string& head) {
  std::array<char, 4096> piece{};
  HeadScan scan = scan_head(client->bytes);
  while (scan.state == HeadScan::State::incomplete) {
    const bool first = client->bytes.empty();
    const auto [error, count] =
        co_await client->socket.async_read_some(asio::buffer(piece), kQuiet);
    if (error) co_return false;
    if (first) client->deadline = Clock::now() + kHeadDeadline;
    client->bytes.append(piece.data(), count);
    scan = scan_head(client->bytes);
  }
  if (scan.state == HeadScan::State::refused) {
    const Response refused = bad_request(scan.sentence, scan.status);
    co_await send(client, refused);
    co_return false;
  }
  head = client->bytes.substr(0, scan.length);
  client->bytes.erase(0, scan.length);
  co_return true;
}

asio::awaitable<bool> HttpServer::Impl::read_body(const ConnectionPtr& client, Request& request) {
  const std::string stated = request.head.value("content-length");
  const std::size_t length = stated.empty() ? 0 : std::stoul(stated);  // digits, by the gate
  client->deadline = Clock::now() + kBodyDeadline;
  std::array<char, 4096> piece{};
  while (client->bytes.size() < length) {
    const auto [error, count] =
        co_await client->socket.async_read_some(asio::buffer(piece), kQuiet);
    if (error) co_return false;
    client->bytes.append(piece.data(), count);
  }
  request.body = client->bytes.substr(0, length);
  client->bytes.erase(0, length);
  co_return true;
}

std::optional<Response> HttpServer::Impl::refused_before_route(const ConnectionPtr& client,
                                                               Request& request) {
  auto target = parse_target(request.head.target);
  if (!target) return bad_request("The address is not well formed.");
  request.path = std::move(target->path);
  request.query = std::move(target->query);
  const Route* route = find_route(request);
  if (route != nullptr && route->always) return std::nullopt;
  if (client->only_stop) {
    Response busy = refusal(503, "N-430", "Too many connections are open. Stop still works.");
    busy.retry_after_s = 1;
    busy.close = true;
    return busy;
  }
  if (rate_limit.allows(client->address, request.head.method == "POST", Clock::now()))
    return std::nullopt;
  Response often = refusal(429, "N-431", "Too many requests. Wait a second.");
  often.retry_after_s = 1;
  return often;
}

asio::awaitable<Response> HttpServer::Impl::ask(const ConnectionPtr& client,
                                                const Request& request) {
  const auto slot = std::make_shared<std::optional<Response>>();
  const Reply reply = [slot, service = service,
                       waiting = std::weak_ptr<Connection>(client)](Response response) {
    service->post([slot, waiting, response = std::move(response)]() mutable {
      if (!*slot) *slot = std::move(response);
      if (const ConnectionPtr asker = waiting.lock()) asker->bell.cancel();
    });
  };
  const bool command = request.head.method == "POST";
  const Clock::time_point until = Clock::now() + (command ? settings.command_answered_within
                                                          : settings.question_answered_within);
  client->deadline = until + kWriteDeadline;
  answer(application, request, reply);
  while (!*slot && Clock::now() < until && client->socket.is_open()) {
    client->bell.expires_at(until);
    co_await client->bell.async_wait(kQuiet);
  }
  if (*slot) co_return std::move(**slot);
  if (command)
    co_return refusal(503, "N-504",
                      "The answer took too long. What was sent may still be kept: look whether it "
                      "was before you send it again.");
  co_return refusal(503, "N-503", "The answer took too long. Ask again.");
}

asio::awaitable<bool> HttpServer::Impl::send(const ConnectionPtr& client,
                                             const Response& response) {
  const std::string head = response_head(response);
  const std::string_view body =
      response.fixed_body.empty() ? std::string_view(response.body) : response.fixed_body;
  const bool sent = co_await write(client, head, response.status == 304 ? "" : body);
  co_return sent;
}

asio::awaitable<bool> HttpServer::Impl::write(const ConnectionPtr& client, std::string_view first,
                                              std::string_view second) {
  client->deadline = Clock::now() + kWriteDeadline;
  const std::array<asio::const_buffer, 2> buffers{asio::buffer(first), asio::buffer(second)};
  const auto [error, count] = co_await asio::async_write(client->socket, buffers, kQuiet);
  co_return !error;
}

// One write at a time; what happens meanwhile is seen, in its newest form, after it.
asio::awaitable<void> HttpServer::Impl::tell_live(const ConnectionPtr& client,
                                                  const std::string& bench) {
  LiveListener listener(bench);
  std::string text = live_feed_head() + "retry: 500\n\n";
  bool listening = co_await write(client, text, {});
  while (listening) {
    text = co_await next_news(client, listener);
    listening = co_await write(client, text, {});
  }
}

asio::awaitable<std::string> HttpServer::Impl::next_news(const ConnectionPtr& client,
                                                         LiveListener& listener) {
  const Clock::time_point beat = Clock::now() + kHeartbeat;
  client->deadline = beat + kWriteDeadline;
  while (client->socket.is_open()) {
    std::string text = listener.news(*feed);
    if (!text.empty()) co_return text;
    if (Clock::now() >= beat) break;
    client->bell.expires_at(beat);
    co_await client->bell.async_wait(kQuiet);
  }
  co_return server_event("beat", "{}");
}

HttpServer::HttpServer(const HttpSettings& settings, Application& application, TellStray stray)
    : impl_(std::make_unique<Impl>(settings, application, std::move(stray))) {}
HttpServer::~HttpServer() = default;
std::function<void(std::function<void()>)> HttpServer::on_thread() const {
  return [service = impl_->service](std::function<void()> work) { service->post(std::move(work)); };
}
std::uint16_t HttpServer::port() const { return impl_->acceptor.local_endpoint().port(); }

}  // namespace endgate::daemon
