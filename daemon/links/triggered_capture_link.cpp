#include "daemon/links/triggered_capture_link.h"

#include <algorithm>
#include <boost/asio/post.hpp>
#include <boost/asio/steady_timer.hpp>
#include <cmath>
#include <deque>
#include <utility>

namespace endgate::daemon {
namespace {

namespace asio = boost::asio;
using Steady = std::chrono::steady_clock;

constexpr std::uint16_t kRegistersOfStream = 4;  // sequence and device time
constexpr int kNoSuchFunction = 1, kNoSuchAddress = 2;

std::uint16_t words_of_sample(SampleType type) { return type == SampleType::int16 ? 1 : 2; }

std::int64_t steady_us(Steady::time_point at) {
  return std::chrono::duration_cast<std::chrono::microseconds>(at.time_since_epoch()).count();
}

std::uint32_t two_words(std::uint16_t high, std::uint16_t low) {
  return static_cast<std::uint32_t>(high) << 16 | low;
}

// Ours: what the daemon sees of it, and the one capture under way.
class TriggeredCaptureLink final : public Link,
                                   public std::enable_shared_from_this<TriggeredCaptureLink> {
 public:
  TriggeredCaptureLink(asio::any_io_executor executor, ModbusTcpSettings wire,
                       CaptureSettings capture)
      : executor_(std::move(executor)),
        wire_(std::move(wire)),
        capture_(std::move(capture)),
        late_(executor_),
        pause_(executor_) {}

  void open(Events events) override {
    events_ = std::move(events);
    connect();
  }

  void read(std::vector<RegisterSpan> spans, ReadDone done) override {
    asio::post(executor_,
               [self = shared_from_this(), spans = std::move(spans), done = std::move(done)] {
                 if (!self->closed_ && done) done(self->answer_to(spans));
               });
  }

  void write(RegisterWrite, Urgency, WriteDone done) override {
    asio::post(executor_, [self = shared_from_this(), done = std::move(done)] {
      if (self->closed_ || !done) return;
      done(LinkError{LinkError::Kind::refused, kNoSuchFunction,
                     self->wire_.device + " captures samples and takes no writes"});
    });
  }

  [[nodiscard]] bool is_open() const override { return open_; }

  void close() override {
    closed_ = true;
    open_ = false;
    events_ = {};
    give_up();
  }

 private:
  void give_up() {
    ++attempt_;
    late_.cancel();
    pause_.cancel();
    if (inner_) inner_->close();
    blocks_.clear();
  }

  void connect() {
    inner_ = make_modbus_tcp_link(executor_, wire_);
    const auto weak = weak_from_this();
    inner_->open({[weak] {
                    if (const auto self = weak.lock()) self->opened();
                  },
                  [weak](const LinkError& why) {
                    if (const auto self = weak.lock()) self->lost(why);
                  }});
  }

  void opened() {
    open_ = true;
    const auto opened = events_.opened;  // may close the link, and with it its own event
    if (opened) opened();
    if (!closed_) trigger();
  }

  // The connection under it opens again by itself.
  void lost(const LinkError& why) {
    ++attempt_;
    open_ = false;
    counter_ = 0;  // the device may have started anew
    ticks_ = 0;
    late_.cancel();
    blocks_.clear();
    const auto closed = events_.closed;
    if (closed) closed(why);
  }

  // What the device does is not what its file says: begin anew, but not at once.
  void fail(LinkError::Kind kind, const std::string& what) {
    give_up();
    pause_.expires_after(wire_.reconnect_last);
    pause_.async_wait([weak = weak_from_this()](boost::system::error_code stopped) {
      const auto self = weak.lock();
      if (self && !stopped && !self->closed_) self->connect();
    });
    lost({kind, 0, wire_.device + ": " + what});
  }

  void trigger() {
    ++attempt_;
    words_.clear();
    late_.expires_after(capture_.within);
    late_.async_wait([weak = weak_from_this(), mine = attempt_](boost::system::error_code stopped) {
      const auto self = weak.lock();
      if (self && !stopped && mine == self->attempt_)
        self->fail(LinkError::Kind::silent, "no whole capture in time");
    });
    ask(capture_.ready, [this](const Words& words) {
      before_ = words[0];
      pull_trigger();
    });
  }

  void pull_trigger() {
    const auto sent = Steady::now();
    inner_->write(
        capture_.trigger, Urgency::in_turn,
        [weak = weak_from_this(), mine = attempt_, sent](const std::optional<LinkError>& error) {
          const auto self = weak.lock();
          if (!self || mine != self->attempt_) return;
          if (error && error->kind != LinkError::Kind::refused) return;  // lost() follows
          if (error) return self->fail(error->kind, "the trigger: " + error->text);
          self->first_us_ = steady_us(sent + (Steady::now() - sent) / 2);
          self->ask_whether_ready();
        });
  }

  void ask_whether_ready() {
    ask(capture_.ready, [this](const Words& words) {
      if (!is_ready(words[0])) return ask_again();
      there_ = words[0];
      ended_ = Steady::now();
      ask_time();
    });
  }

  [[nodiscard]] bool is_ready(std::uint16_t word) const {
    if (capture_.ready_bit) return (word >> *capture_.ready_bit & 1) != 0;
    return word != 0 && word != before_;
  }
  [[nodiscard]] bool is_the_same(std::uint16_t word) const {
    return capture_.ready_bit ? is_ready(word) : word == there_;
  }

  void ask_again() {
    pause_.expires_after(capture_.ask_every);
    pause_.async_wait(
        [weak = weak_from_this(), mine = attempt_](boost::system::error_code stopped) {
          const auto self = weak.lock();
          if (self && !stopped && mine == self->attempt_) self->ask_whether_ready();
        });
  }

  void ask_time() {
    if (!capture_.time) return next_chunk();
    ask(*capture_.time, [this](const Words& words) {
      first_us_ = device_us(two_words(words[0], words[1]));
      next_chunk();
    });
  }

  // The counter wraps, one of microseconds after 71 min; the time goes on.
  [[nodiscard]] std::int64_t device_us(std::uint32_t counter) {
    ticks_ += static_cast<std::int32_t>(counter - counter_);
    counter_ = counter;
    return std::llround(static_cast<double>(ticks_) * capture_.time_tick_s * 1e6);
  }

  void next_chunk() {
    const std::uint16_t each = words_of_sample(capture_.type);
    const std::size_t left = capture_.count * each - words_.size();
    if (left == 0) return ask_whether_the_same();
    const std::size_t most = capture_.most_registers / each * each;
    RegisterSpan chunk = capture_.samples;
    chunk.address = static_cast<std::uint16_t>(chunk.address + words_.size());
    chunk.count = static_cast<std::uint16_t>(std::min(left, most));
    ask(chunk, [this](const Words& words) {
      words_.insert(words_.end(), words.begin(), words.end());
      next_chunk();
    });
  }

  void ask_whether_the_same() {
    ask(capture_.ready, [this](const Words& words) {
      if (is_the_same(words[0])) keep_block();
      if (!closed_) trigger();
    });
  }

  using Words = std::vector<std::uint16_t>;
  // `take` is called only with whole words of the capture under way.
  template <class Take>
  void ask(const RegisterSpan& span, Take take) {
    inner_->read(
        {span}, [weak = weak_from_this(), mine = attempt_, take](const ReadAnswer& answer) {
          const auto self = weak.lock();
          if (!self || mine != self->attempt_ || answer.error) return;  // lost() tells
          if (answer.spans[0].exception != 0)
            return self->fail(LinkError::Kind::refused, "registers of the capture cannot be read");
          take(answer.spans[0].words);
        });
  }

  void keep_block() {
    auto block = std::make_shared<SampleBlock>();
    block->sequence = ++sequence_;
    block->first_us = first_us_;
    block->period_ns = capture_.period_ns;
    block->columns.push_back({capture_.type, {}});
    const std::uint16_t each = words_of_sample(capture_.type);
    for (std::size_t i = 0; i < words_.size(); i += each)
      block->columns[0].raw.push_back(raw_at(i));
    blocks_.push_back(std::move(block));
    kept_ended_ = ended_;
    if (blocks_.size() > CaptureSettings::kMostWaiting) blocks_.pop_front();
  }

  [[nodiscard]] std::int32_t raw_at(std::size_t at) const {
    if (capture_.type == SampleType::int16) return static_cast<std::int16_t>(words_[at]);
    const bool swapped = capture_.low_word_first;
    return static_cast<std::int32_t>(
        two_words(words_[swapped ? at + 1 : at], words_[swapped ? at : at + 1]));
  }

  // The moment that stands beside the block is that of its last sample, not that of its last chunk.
  [[nodiscard]] ReadAnswer answer_to(const std::vector<RegisterSpan>& spans) {
    if (!open_) return {{}, LinkError{LinkError::Kind::lost, 0, wire_.device + ": not connected"}};
    const auto moment = blocks_.empty() ? Steady::now() : kept_ended_;
    ReadAnswer answer;
    for (const RegisterSpan& span : spans) {
      SpanAnswer part{Words(span.count), 0, moment, moment};
      if (span.address + span.count > kRegistersOfStream)
        part = {{}, kNoSuchAddress, moment, moment};
      answer.spans.push_back(std::move(part));
    }
    if (!answer.spans.empty()) answer.spans.front().blocks = {blocks_.begin(), blocks_.end()};
    blocks_.clear();
    return answer;
  }

  asio::any_io_executor executor_;
  const ModbusTcpSettings wire_;
  const CaptureSettings capture_;
  std::shared_ptr<Link> inner_;
  asio::steady_timer late_, pause_;
  Events events_;
  bool open_ = false, closed_ = false;
  std::uint64_t attempt_ = 0;  // whatever belongs to an older one is not taken
  std::uint16_t before_ = 0, there_ = 0;
  std::int64_t first_us_ = 0;
  std::uint32_t counter_ = 0;        // of the device, as last read
  std::int64_t ticks_ = 0;           // since the first of this connection, and what that was
  Steady::time_point ended_{};       // the capture under way
  Steady::time_point kept_ended_{};  // the newest block
  Words words_;
  std::uint32_t sequence_ = 0;
  std::deque<std::shared_ptr<const SampleBlock>> blocks_;
};

}  // namespace

std::shared_ptr<Link> make_triggered_capture_link(asio::any_io_executor executor,
                                                  ModbusTcpSettings wire, CaptureSettings capture) {
  return std::make_shared<TriggeredCaptureLink>(std::move(executor), std::move(wire),
                                                std::move(capture));
}

}  // namespace endgate::daemon
