#include "daemon/links/modbus_tcp_link.h"

#include <netinet/tcp.h>
#include <sys/socket.h>

#include <algorithm>
#include <array>
#include <boost/asio/connect.hpp>
#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/steady_timer.hpp>
#include <boost/asio/write.hpp>
#include <utility>

#include "daemon/links/modbus_pdu.h"
#include "daemon/links/request_queue.h"

namespace endgate::daemon {
namespace {

namespace asio = boost::asio;
using asio::ip::tcp;
using boost::system::error_code;
using Steady = std::chrono::steady_clock;

constexpr unsigned kUserTimeout_ms = 800;  // a peer that lost power is noticed within this

class ModbusTcpLink final : public Link, public std::enable_shared_from_this<ModbusTcpLink> {
 public:
  ModbusTcpLink(asio::any_io_executor executor, ModbusTcpSettings settings)
      : settings_(std::move(settings)),
        executor_(std::move(executor)),
        resolver_(executor_),
        socket_(executor_),
        timer_(executor_),
        pause_(settings_.reconnect_first) {}

  void open(Events events) override {
    events_ = std::move(events);
    connect();
  }

  void read(std::vector<RegisterSpan> spans, ReadDone done) override {
    if (state_ != State::open || spans.empty()) return fail_later(std::move(done));
    queue_.push(PendingRead{std::move(spans), {}, std::move(done)});
    next();
  }

  void write(RegisterWrite write, Urgency urgency, WriteDone done) override {
    if (state_ != State::open) return fail_later(std::move(done));
    queue_.push(PendingWrite{std::move(write), std::move(done)}, urgency);
    next();
  }

  [[nodiscard]] bool is_open() const override { return state_ == State::open; }

  void close() override {
    state_ = State::closed;
    events_ = {};
    queue_ = {};
    write_.reset();
    transaction_.reset();
    deadline_.reset();
    timer_.cancel();
    drop_socket();
  }

 private:
  enum class State { connecting, open, pausing, closed };

  // A transaction under way.  `deadline_` is its own.
  struct Transaction {
    explicit Transaction(const modbus::Request& request)
        : parser(request), bytes(modbus::encode(request)), sent(Steady::now()) {}
    modbus::AnswerParser parser;
    std::vector<std::uint8_t> bytes;
    Steady::time_point sent;
  };

  // --- connecting

  void connect() {
    state_ = State::connecting;
    ++connection_;
    set_deadline(Steady::now() + settings_.connect_deadline);
    error_code failed;
    const auto address = asio::ip::make_address(settings_.host, failed);
    if (!failed) return connect_to(tcp::endpoint(address, settings_.port));
    resolver_.async_resolve(
        settings_.host, std::to_string(settings_.port),
        [self = shared_from_this(), mine = connection_](error_code error, auto results) {
          if (self->is_stale(mine)) return;
          if (error || results.empty()) return self->lose(LinkError::Kind::lost, error.message());
          self->connect_to(*results.begin());
        });
  }

  void connect_to(const tcp::endpoint& endpoint) {
    socket_.async_connect(endpoint,
                          [self = shared_from_this(), mine = connection_](error_code error) {
                            if (self->is_stale(mine)) return;
                            if (error) return self->lose(LinkError::Kind::lost, error.message());
                            self->connected();
                          });
  }

  void connected() {
    error_code ignored;
    socket_.set_option(tcp::no_delay(true), ignored);
    const unsigned timeout = kUserTimeout_ms;
    ::setsockopt(socket_.native_handle(), IPPROTO_TCP, TCP_USER_TIMEOUT, &timeout, sizeof timeout);
    state_ = State::open;
    deadline_.reset();
    const auto opened = events_.opened;  // may close the link, and with it its own event
    if (opened) opened();
  }

  // --- transactions

  void next() {
    if (state_ != State::open || transaction_) return;
    if ((write_ = queue_.take_write()))
      begin(request_of(write_->write));
    else if (queue_.has_read())
      begin(request_of(queue_.front_read().next_span()));
  }

  modbus::Request request_of(const RegisterWrite& write) {
    const std::uint8_t function = write.values.size() == 1 ? 6 : 16;
    return {++transaction_id_, settings_.unit, function, write.address, 0, write.values};
  }

  modbus::Request request_of(const RegisterSpan& span) {
    const auto function = static_cast<std::uint8_t>(span.function);
    return {++transaction_id_, settings_.unit, function, span.address, span.count, {}};
  }

  void begin(const modbus::Request& request) {
    transaction_.emplace(request);
    set_deadline(transaction_->sent + settings_.transaction_deadline);
    // The bytes are moved out: a transaction that is dropped must not take them from the socket.
    auto bytes = std::make_shared<std::vector<std::uint8_t>>(std::move(transaction_->bytes));
    asio::async_write(
        socket_, asio::buffer(*bytes),
        [self = shared_from_this(), mine = connection_, bytes](error_code error, std::size_t) {
          if (self->is_stale(mine)) return;
          if (error) return self->lose(LinkError::Kind::lost, error.message());
          self->receive();
        });
  }

  void receive() {
    socket_.async_read_some(asio::buffer(buffer_), [self = shared_from_this(), mine = connection_](
                                                       error_code error, std::size_t count) {
      if (self->is_stale(mine)) return;
      if (error) return self->lose(LinkError::Kind::lost, error.message());
      self->received(count);
    });
  }

  void received(std::size_t count) {
    using ParserState = modbus::AnswerParser::State;
    // The timer may be queued behind this very answer: late is late.
    if (Steady::now() >= *deadline_) return time_out();
    switch (transaction_->parser.feed({buffer_.data(), count})) {
      case ParserState::needs_more:
        return receive();
      case ParserState::garbled:
        return lose(LinkError::Kind::garbled, transaction_->parser.fault());
      case ParserState::done:
      case ParserState::refused:
        return answered();
    }
  }

  void answered() {
    const Transaction transaction = std::move(*transaction_);
    transaction_.reset();
    deadline_.reset();
    pause_ = settings_.reconnect_first;
    if (write_)
      finish_write(transaction);
    else
      finish_span(transaction);
    next();
  }

  void finish_write(const Transaction& transaction) {
    const PendingWrite write = *std::exchange(write_, std::nullopt);
    std::optional<LinkError> error;
    if (const int code = exception_of(transaction))
      error =
          LinkError{LinkError::Kind::refused, code,
                    settings_.device + " refused a write to register " +
                        std::to_string(write.write.address) + ": " + modbus::exception_text(code)};
    if (write.done) write.done(std::move(error));
  }

  void finish_span(const Transaction& transaction) {
    PendingRead& read = queue_.front_read();
    const int code = exception_of(transaction);
    read.answer.spans.push_back({code ? std::vector<std::uint16_t>{} : transaction.parser.words(),
                                 code, transaction.sent, Steady::now()});
    if (!read.is_complete()) return;
    PendingRead complete = queue_.take_read();
    if (complete.done) complete.done(std::move(complete.answer));
  }

  static int exception_of(const Transaction& transaction) {
    const bool refused = transaction.parser.state() == modbus::AnswerParser::State::refused;
    return refused ? std::max(transaction.parser.exception(), 1) : 0;
  }

  // --- losing the connection

  void time_out() {
    lose(LinkError::Kind::silent, state_ == State::connecting
                                      ? "no connection in time"
                                      : "no whole answer within " +
                                            std::to_string(settings_.transaction_deadline.count()) +
                                            " ms");
  }

  void lose(LinkError::Kind kind, const std::string& what) {
    const LinkError error{kind, 0, settings_.device + ": " + what};
    drop_socket();
    state_ = State::pausing;
    set_deadline(Steady::now() + pause_);
    pause_ = std::min(2 * pause_, settings_.reconnect_last);
    transaction_.reset();
    auto write = std::exchange(write_, std::nullopt);
    RequestQueue dead = std::exchange(queue_, {});
    if (write && write->done) write->done(error);
    while (auto each = dead.take_write())
      if (each->done) each->done(error);
    while (dead.has_read()) fail(dead.take_read().done, error);
    const auto closed = events_.closed;
    if (closed) closed(error);
  }

  static void fail(const ReadDone& done, const LinkError& error) {
    if (done) done({{}, error});
  }

  void drop_socket() {
    ++connection_;  // handlers of the old connection are stale from here on
    error_code ignored;
    resolver_.cancel();
    socket_.close(ignored);
  }

  void fail_later(ReadDone done) {
    asio::post(executor_, [self = shared_from_this(), done = std::move(done)] {
      if (self->state_ != State::closed) fail(done, self->not_connected());
    });
  }

  void fail_later(WriteDone done) {
    asio::post(executor_, [self = shared_from_this(), done = std::move(done)] {
      if (self->state_ != State::closed && done) done(self->not_connected());
    });
  }

  LinkError not_connected() const {
    return {LinkError::Kind::lost, 0, settings_.device + ": not connected"};
  }

  bool is_stale(std::uint64_t connection) const {
    return connection != connection_ || state_ == State::closed;
  }

  // --- the one timer

  void set_deadline(Steady::time_point deadline) {
    deadline_ = deadline;
    if (!armed_until_ || *armed_until_ > deadline) arm(deadline);
  }

  void arm(Steady::time_point until) {
    armed_until_ = until;
    timer_.expires_at(until);
    timer_.async_wait([weak = weak_from_this()](error_code error) {
      const auto self = weak.lock();
      if (self && !error && self->state_ != State::closed) self->timer_fired();
    });
  }

  void timer_fired() {
    armed_until_.reset();
    if (!deadline_) return;
    if (Steady::now() < *deadline_) return arm(*deadline_);
    deadline_.reset();
    if (state_ == State::pausing)
      connect();
    else
      time_out();
  }

  const ModbusTcpSettings settings_;
  asio::any_io_executor executor_;
  tcp::resolver resolver_;
  tcp::socket socket_;
  asio::steady_timer timer_;
  Events events_;
  State state_ = State::pausing;
  RequestQueue queue_;
  std::optional<Transaction> transaction_;
  std::optional<PendingWrite> write_;  // of the transaction under way, when it is a write
  std::uint16_t transaction_id_ = 0;
  std::uint64_t connection_ = 0;
  std::optional<Steady::time_point> deadline_;     // of what is under way
  std::optional<Steady::time_point> armed_until_;  // when the timer fires
  std::chrono::milliseconds pause_;
  std::array<std::uint8_t, 512> buffer_{};
};

}  // namespace

std::shared_ptr<Link> make_modbus_tcp_link(asio::any_io_executor executor,
                                           ModbusTcpSettings settings) {
  return std::make_shared<ModbusTcpLink>(std::move(executor), std::move(settings));
}

}  // namespace endgate::daemon
