#include "daemon/links/transaction_link.h"

#include <algorithm>
#include <array>
#include <boost/asio/post.hpp>
#include <boost/asio/steady_timer.hpp>
#include <utility>

#include "daemon/links/request_queue.h"

namespace endgate::daemon {
namespace {

namespace asio = boost::asio;
using boost::system::error_code;
using Steady = std::chrono::steady_clock;

class TransactionLink final : public Link, public std::enable_shared_from_this<TransactionLink> {
 public:
  TransactionLink(asio::any_io_executor executor, std::string device, LinkTimes times,
                  std::shared_ptr<ByteStream> stream, std::unique_ptr<Dialogue> dialogue)
      : device_(std::move(device)),
        times_(times),
        executor_(std::move(executor)),
        stream_(std::move(stream)),
        dialogue_(std::move(dialogue)),
        timer_(executor_),
        silence_timer_(executor_),
        pause_(times_.reconnect_first) {}

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
    if (state_ != State::open) return fail_later(std::move(done), not_connected());
    if (urgency == Urgency::at_once) end_overtaken(write);
    queue_.push(PendingWrite{std::move(write), std::move(done)}, urgency);
    next();
  }

  [[nodiscard]] bool is_open() const override { return state_ == State::open; }

  void close() override {
    state_ = State::closed;
    events_ = {};
    queue_ = {};
    write_.reset();
    exchange_.reset();
    deadline_.reset();
    timer_.cancel();
    drop_stream();
  }

 private:
  enum class State { connecting, greeting, open, pausing, closed };
  struct Exchange {
    Steady::time_point sent;
  };

  // --- connecting

  void connect() {
    state_ = State::connecting;
    ++connection_;
    set_deadline(Steady::now() + times_.connect_deadline);
    stream_->open([self = shared_from_this(), mine = connection_](error_code error) {
      if (self->is_stale(mine)) return;
      if (error) return self->lose(LinkError::Kind::lost, error.message());
      self->connected();
    });
  }

  void connected() {
    Dialogue::Bytes greeting = dialogue_->greet();
    if (greeting.empty()) return opened();
    state_ = State::greeting;
    begin(std::move(greeting));
  }

  void opened() {
    state_ = State::open;
    deadline_.reset();
    const auto opened = events_.opened;  // may close the link, and with it its own event
    if (opened) opened();
  }

  // --- transactions

  void next() {
    if (state_ != State::open || exchange_ || must_be_silent()) return;
    if ((write_ = queue_.take_write()))
      begin(dialogue_->tell(write_->write));
    else if (queue_.has_read())
      begin(dialogue_->ask(queue_.front_read().next_span()));
  }

  bool must_be_silent() {
    if (!silent_until_ || Steady::now() >= *silent_until_) return false;
    silence_timer_.expires_at(*silent_until_);  // cancels an earlier wait for the same moment
    silence_timer_.async_wait([self = shared_from_this(), mine = connection_](error_code error) {
      if (!error && !self->is_stale(mine)) self->next();
    });
    return true;
  }

  void begin(Dialogue::Bytes bytes) {
    exchange_.emplace(Exchange{Steady::now()});
    set_deadline(exchange_->sent + times_.transaction_deadline);
    send(std::move(bytes));
  }

  // The handler owns the bytes: a transaction that is dropped must not take them from the stream.
  void send(Dialogue::Bytes given) {
    auto bytes = std::make_shared<Dialogue::Bytes>(std::move(given));
    stream_->write(*bytes,
                   [self = shared_from_this(), mine = connection_, bytes](error_code error) {
                     if (self->is_stale(mine)) return;
                     if (error) return self->lose(LinkError::Kind::lost, error.message());
                     self->receive();
                   });
  }

  void receive() {
    stream_->read(buffer_, [self = shared_from_this(), mine = connection_](error_code error,
                                                                           std::size_t count) {
      if (self->is_stale(mine)) return;
      if (error) return self->lose(LinkError::Kind::lost, error.message());
      self->received(count);
    });
  }

  void received(std::size_t count) {
    // The timer may be queued behind this very answer: late is late.
    if (Steady::now() >= *deadline_) return time_out();
    switch (dialogue_->feed({buffer_.data(), count})) {
      case Dialogue::State::needs_more:
        return receive();
      case Dialogue::State::say_more:
        return send(dialogue_->more());
      case Dialogue::State::garbled:
        return lose(LinkError::Kind::garbled, dialogue_->text());
      case Dialogue::State::done:
        return answered(0);
      case Dialogue::State::refused:
        return answered(dialogue_->exception());
    }
  }

  void answered(int exception) {
    const Exchange exchange = *std::exchange(exchange_, std::nullopt);
    deadline_.reset();
    pause_ = times_.reconnect_first;
    note_silence();
    if (state_ == State::greeting) {
      complaint_ = exception == 0 ? std::string() : " (it " + dialogue_->text() + ")";
      return opened();
    }
    if (write_)
      finish_write(exception);
    else
      finish_span(exchange, exception);
    next();
  }

  void note_silence() {
    const auto silence = dialogue_->silence_between();
    if (silence.count() > 0)
      silent_until_ = Steady::now() + std::chrono::ceil<Steady::duration>(silence);
  }

  void finish_write(int exception) {
    const PendingWrite write = *std::exchange(write_, std::nullopt);
    std::optional<LinkError> error;
    if (exception != 0)
      error = LinkError{LinkError::Kind::refused, exception, device_ + " " + dialogue_->text()};
    if (write.done) write.done(std::move(error));
  }

  void finish_span(const Exchange& exchange, int exception) {
    PendingRead& read = queue_.front_read();
    read.answer.spans.push_back({exception != 0 ? std::vector<std::uint16_t>{} : dialogue_->words(),
                                 exception, exchange.sent, Steady::now()});
    if (!read.is_complete()) return;
    PendingRead complete = queue_.take_read();
    if (complete.done) complete.done(std::move(complete.answer));
  }

  // --- losing the connection

  void time_out() {
    if (state_ == State::connecting) return lose(LinkError::Kind::silent, "no connection in time");
    lose(LinkError::Kind::silent,
         "no whole answer within " + std::to_string(times_.transaction_deadline.count()) + " ms");
  }

  void lose(LinkError::Kind kind, const std::string& what) {
    const LinkError error{kind, 0, device_ + ": " + what + std::exchange(complaint_, {})};
    drop_stream();
    state_ = State::pausing;
    set_deadline(Steady::now() + pause_);
    pause_ = std::min(2 * pause_, times_.reconnect_last);
    exchange_.reset();
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

  void drop_stream() {
    ++connection_;  // handlers of the old connection are stale from here on
    silent_until_.reset();
    silence_timer_.cancel();
    stream_->close();
  }

  void fail_later(ReadDone done) {
    asio::post(executor_, [self = shared_from_this(), done = std::move(done)] {
      if (self->state_ != State::closed) fail(done, self->not_connected());
    });
  }

  void fail_later(WriteDone done, LinkError error) {
    asio::post(executor_,
               [self = shared_from_this(), done = std::move(done), error = std::move(error)] {
                 if (self->state_ != State::closed && done) done(error);
               });
  }

  void end_overtaken(const RegisterWrite& urgent) {
    for (PendingWrite& each : queue_.take_overtaken(urgent))
      fail_later(std::move(each.done), {LinkError::Kind::lost, 0,
                                        device_ + ": overtaken by an urgent write to register " +
                                            std::to_string(urgent.address)});
  }

  LinkError not_connected() const {
    return {LinkError::Kind::lost, 0, device_ + ": not connected"};
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

  const std::string device_;
  const LinkTimes times_;
  asio::any_io_executor executor_;
  std::shared_ptr<ByteStream> stream_;
  std::unique_ptr<Dialogue> dialogue_;
  asio::steady_timer timer_;
  asio::steady_timer silence_timer_;
  Events events_;
  State state_ = State::pausing;
  RequestQueue queue_;
  std::optional<Exchange> exchange_;   // under way
  std::optional<PendingWrite> write_;  // of the exchange under way, when it is a write
  std::string complaint_;              // what the device had to say when it was greeted
  std::uint64_t connection_ = 0;
  std::optional<Steady::time_point> silent_until_;
  std::optional<Steady::time_point> deadline_;     // of what is under way
  std::optional<Steady::time_point> armed_until_;  // when the timer fires
  std::chrono::milliseconds pause_;
  std::array<std::uint8_t, 4096> buffer_{};
};

}  // namespace

std::shared_ptr<Link> make_transaction_link(asio::any_io_executor executor, std::string device,
                                            LinkTimes times, std::shared_ptr<ByteStream> stream,
                                            std::unique_ptr<Dialogue> dialogue) {
  return std::make_shared<TransactionLink>(std::move(executor), std::move(device), times,
                                           std::move(stream), std::move(dialogue));
}

}  // namespace endgate::daemon
