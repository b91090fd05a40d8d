#include "daemon/links/sample_stream_link.h"

#include <algorithm>
#include <array>
#include <boost/asio/post.hpp>
#include <boost/asio/steady_timer.hpp>
#include <deque>
#include <utility>

#include "daemon/links/sample_block.h"
#include "daemon/links/tcp_stream.h"

namespace endgate::daemon {
namespace {

namespace asio = boost::asio;
using boost::system::error_code;
using Steady = std::chrono::steady_clock;
using BlockPtr = std::shared_ptr<const SampleBlock>;

constexpr int kIllegalFunction = 1, kIllegalAddress = 2;

std::size_t bytes_of(const SampleBlock& block) {
  return block.columns.size() * block.samples() * sizeof(std::int32_t);
}

// The blocks nobody has read yet, and the newest one.
class KeptBlocks {
 public:
  void add(BlockPtr block, Steady::time_point arrived) {
    newest_ = block;
    arrived_ = arrived;
    bytes_ += bytes_of(*block);
    blocks_.push_back(std::move(block));
    while (blocks_.size() > SampleStreamSettings::kMostKept ||
           bytes_ > SampleStreamSettings::kMostBytesKept) {
      bytes_ -= bytes_of(*blocks_.front());
      blocks_.pop_front();
    }
  }
  [[nodiscard]] std::vector<BlockPtr> take() {
    std::vector<BlockPtr> taken(blocks_.begin(), blocks_.end());
    blocks_.clear();
    bytes_ = 0;
    return taken;
  }
  [[nodiscard]] const BlockPtr& newest() const { return newest_; }
  [[nodiscard]] Steady::time_point arrived() const { return arrived_; }

 private:
  std::deque<BlockPtr> blocks_;
  std::size_t bytes_ = 0;
  BlockPtr newest_;
  Steady::time_point arrived_{};
};

std::vector<std::uint16_t> registers_of(const SampleBlock& block) {
  const auto time_us = static_cast<std::uint64_t>(block.last_us());
  const auto word = [](std::uint64_t number, int shift) {
    return static_cast<std::uint16_t>(number >> shift & 0xffff);
  };
  return {word(block.sequence, 16), word(block.sequence, 0), word(time_us, 16), word(time_us, 0)};
}

class SampleStreamLink final : public Link, public std::enable_shared_from_this<SampleStreamLink> {
 public:
  SampleStreamLink(asio::any_io_executor executor, SampleStreamSettings settings)
      : settings_(std::move(settings)),
        executor_(executor),
        stream_(make_tcp_stream(executor, settings_.host, settings_.port)),
        timer_(executor),
        pause_(settings_.reconnect_first) {}

  void open(Events events) override {
    events_ = std::move(events);
    connect();
  }

  void read(std::vector<RegisterSpan> spans, ReadDone done) override {
    asio::post(executor_,
               [self = shared_from_this(), spans = std::move(spans), done = std::move(done)] {
                 if (self->state_ != State::closed && done) done(self->answer_to(spans));
               });
  }

  void write(RegisterWrite, Urgency, WriteDone done) override {
    asio::post(executor_, [self = shared_from_this(), done = std::move(done)] {
      if (self->state_ == State::closed || !done) return;
      if (self->state_ != State::open) return done(self->not_connected());
      done(LinkError{LinkError::Kind::refused, kIllegalFunction,
                     self->settings_.device + " streams samples and takes no writes"});
    });
  }

  [[nodiscard]] bool is_open() const override { return state_ == State::open; }

  void close() override {
    state_ = State::closed;
    events_ = {};
    ++connection_;
    timer_.cancel();
    stream_->close();
  }

 private:
  enum class State { connecting, open, pausing, closed };

  void connect() {
    state_ = State::connecting;
    kept_ = {};
    parser_ = {};
    expire_after(settings_.connect_deadline);
    stream_->open([self = shared_from_this(), mine = ++connection_](error_code error) {
      if (self->is_stale(mine)) return;
      if (error) return self->lose(LinkError::Kind::lost, error.message());
      self->expire_after(self->settings_.transaction_deadline);
      self->receive();
    });
  }

  void receive() {
    stream_->read(buffer_, [self = shared_from_this(), mine = connection_](error_code error,
                                                                           std::size_t count) {
      if (self->is_stale(mine)) return;
      if (error) return self->lose(LinkError::Kind::lost, error.message());
      self->received(count, mine);
    });
  }

  void received(std::size_t count, std::uint64_t mine) {
    std::vector<BlockPtr> blocks;
    if (!parser_.feed({buffer_.data(), count}, blocks))
      return lose(LinkError::Kind::garbled, parser_.fault());
    std::size_t in_order = 0;
    while (in_order < blocks.size() && take(blocks[in_order])) ++in_order;
    if (in_order < blocks.size()) return lose(LinkError::Kind::garbled, "a block out of its order");
    if (!blocks.empty()) hear();
    for (const BlockPtr& block : blocks) {
      const auto told = events_.block;  // may close the link, and with it its own event
      if (told) told(*block, kept_.arrived());
    }
    if (!is_stale(mine)) receive();
  }

  bool take(const BlockPtr& block) {
    if (!follows(*block)) return false;
    kept_.add(block, Steady::now());
    return true;
  }

  bool follows(const SampleBlock& block) const {
    if (!kept_.newest()) return true;
    const auto ahead = static_cast<std::int32_t>(block.sequence - kept_.newest()->sequence);
    return ahead > 0 && block.first_us > kept_.newest()->last_us();
  }

  // Open is a stream that has brought a block.
  void hear() {
    expire_after(settings_.transaction_deadline);
    pause_ = settings_.reconnect_first;
    if (state_ == State::open) return;
    state_ = State::open;
    const auto opened = events_.opened;  // may close the link, and with it its own event
    if (opened) opened();
  }

  ReadAnswer answer_to(const std::vector<RegisterSpan>& spans) {
    if (state_ != State::open) return {{}, not_connected()};
    ReadAnswer answer;
    for (const RegisterSpan& span : spans) answer.spans.push_back(answer_to(span));
    if (!answer.spans.empty()) answer.spans.front().blocks = kept_.take();
    return answer;
  }

  SpanAnswer answer_to(const RegisterSpan& span) const {
    const std::vector<std::uint16_t> all = registers_of(*kept_.newest());
    SpanAnswer answer{{}, 0, kept_.arrived(), kept_.arrived()};
    if (span.address + span.count > static_cast<int>(all.size()))
      answer.exception = kIllegalAddress;
    else
      answer.words.assign(all.begin() + span.address, all.begin() + span.address + span.count);
    return answer;
  }

  void lose(LinkError::Kind kind, const std::string& what) {
    const LinkError error{kind, 0, settings_.device + ": " + what};
    ++connection_;
    stream_->close();
    state_ = State::pausing;
    expire_after(pause_);
    pause_ = std::min(2 * pause_, settings_.reconnect_last);
    const auto closed = events_.closed;
    if (closed) closed(error);
  }

  LinkError not_connected() const {
    return {LinkError::Kind::lost, 0, settings_.device + ": not connected"};
  }

  bool is_stale(std::uint64_t connection) const {
    return connection != connection_ || state_ == State::closed;
  }

  void expire_after(std::chrono::milliseconds wait) {
    timer_.expires_after(wait);
    timer_.async_wait([weak = weak_from_this()](error_code error) {
      const auto self = weak.lock();
      if (self && !error && self->state_ != State::closed) self->expired();
    });
  }

  void expired() {
    if (state_ == State::pausing) return connect();
    lose(LinkError::Kind::silent, "no block of samples in time");
  }

  const SampleStreamSettings settings_;
  asio::any_io_executor executor_;
  std::shared_ptr<ByteStream> stream_;
  asio::steady_timer timer_;
  Events events_;
  State state_ = State::pausing;
  SampleBlockParser parser_;
  KeptBlocks kept_;
  std::uint64_t connection_ = 0;
  std::chrono::milliseconds pause_;
  std::array<std::uint8_t, 65536> buffer_{};
};

}  // namespace

std::shared_ptr<Link> make_sample_stream_link(asio::any_io_executor executor,
                                              SampleStreamSettings settings) {
  return std::make_shared<SampleStreamLink>(std::move(executor), std::move(settings));
}

}  // namespace endgate::daemon
