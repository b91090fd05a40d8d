#include "daemon/links/recorded_run_link.h"

#include <algorithm>
#include <boost/asio/post.hpp>
#include <boost/asio/steady_timer.hpp>
#include <cmath>
#include <fstream>
#include <utility>

#include "daemon/links/recorded_run.h"
#include "daemon/links/scpi_dialogue.h"

namespace endgate::daemon {
namespace {

namespace asio = boost::asio;
using Steady = std::chrono::steady_clock;

constexpr int kIllegalAddressOfRun = 2;
constexpr int kHoldingRegisters = 3;
constexpr std::size_t kRowsAtATime = 512;  // about a millisecond of the I/O thread
// A busy machine makes the run slower, its time with it, rather than holes in its numbers.
constexpr double kLongestLeap_us = 0.5e6;

std::unique_ptr<RecordedRun> open_run(const RecordedRunSettings& settings) {
  return std::make_unique<RecordedRun>(
      std::make_unique<std::ifstream>(settings.file, std::ios::binary), settings.columns,
      settings.commands);
}

class RecordedRunLink final : public Link, public std::enable_shared_from_this<RecordedRunLink> {
 public:
  RecordedRunLink(asio::any_io_executor executor, RecordedRunSettings settings)
      : settings_(std::move(settings)),
        executor_(executor),
        timer_(executor),
        pause_(settings_.reconnect_first) {}

  void open(Events events) override {
    events_ = std::move(events);
    begin();
  }

  void read(std::vector<RegisterSpan> spans, ReadDone done) override {
    asio::post(executor_,
               [self = shared_from_this(), spans = std::move(spans), done = std::move(done)] {
                 if (self->state_ != State::closed && done) done(self->answer_to(spans));
               });
  }

  void write(RegisterWrite write, Urgency, WriteDone done) override {
    asio::post(executor_,
               [self = shared_from_this(), write = std::move(write), done = std::move(done)] {
                 if (self->state_ == State::closed) return;
                 const auto refused = self->taken(write);
                 if (done) done(refused);
               });
  }

  [[nodiscard]] bool is_open() const override { return state_ == State::open; }

  void close() override {
    state_ = State::closed;
    events_ = {};
    timer_.cancel();
  }

 private:
  enum class State { looking, open, pausing, closed };

  void begin() {
    state_ = State::looking;
    run_ = open_run(settings_);
    look_on();
  }

  void look_on() {
    asio::post(executor_, [self = shared_from_this()] {
      if (self->state_ != State::looking) return;
      if (!self->run_->look_through(kRowsAtATime)) return self->look_on();
      if (!self->run_->fault().empty()) return self->lose();
      self->opened();
    });
  }

  void opened() {
    state_ = State::open;
    pause_ = settings_.reconnect_first;
    played_ = Steady::now();
    const auto opened = events_.opened;  // may close the link, and with it its own event
    if (opened) opened();
  }

  ReadAnswer answer_to(const std::vector<RegisterSpan>& spans) {
    if (state_ != State::open) return {{}, not_connected()};
    play();
    if (!run_->fault().empty()) {
      lose();
      return {{}, not_connected()};
    }
    ReadAnswer answer;
    for (const RegisterSpan& span : spans) answer.spans.push_back(answer_to(span));
    return answer;
  }

  void play() {
    const auto now = Steady::now();
    const std::chrono::duration<double, std::micro> passed = now - played_;
    const auto by_us = std::llround(std::min(passed.count() * settings_.rate, kLongestLeap_us));
    played_ = now;
    time_us_ += static_cast<std::uint64_t>(by_us);
    run_->play(by_us);
  }

  SpanAnswer answer_to(const RegisterSpan& span) const {
    const std::vector<std::uint16_t> all =
        span.function == kHoldingRegisters ? time_words() : column_words(span);
    SpanAnswer answer{{}, 0, played_, played_};
    const std::size_t from =
        span.function == kHoldingRegisters ? span.address : span.address % kWordsOfNumber;
    if (from + span.count > all.size())
      answer.exception = kIllegalAddressOfRun;
    else
      answer.words.assign(all.begin() + static_cast<std::ptrdiff_t>(from),
                          all.begin() + static_cast<std::ptrdiff_t>(from + span.count));
    return answer;
  }

  // Of the columns that the span touches.
  std::vector<std::uint16_t> column_words(const RegisterSpan& span) const {
    std::vector<std::uint16_t> all;
    const std::size_t end = (span.address + span.count + kWordsOfNumber - 1u) / kWordsOfNumber;
    for (std::size_t k = span.address / kWordsOfNumber; k < std::min(end, settings_.columns.size());
         ++k)
      for (const std::uint16_t word : words_of_number(run_->value(k))) all.push_back(word);
    return all;
  }

  std::vector<std::uint16_t> time_words() const {
    const auto low = static_cast<std::uint32_t>(time_us_);
    return {static_cast<std::uint16_t>(low >> 16), static_cast<std::uint16_t>(low & 0xffff)};
  }

  std::optional<LinkError> taken(const RegisterWrite& write) {
    if (state_ != State::open) return not_connected();
    if (write.address >= settings_.commands.size() || write.values.size() != kWordsOfNumber)
      return LinkError{LinkError::Kind::refused, kIllegalAddressOfRun,
                       settings_.device + ": no such command"};
    play();
    run_->command(write.address, number_of_words(write.values));
    return std::nullopt;
  }

  void lose() {
    const LinkError error{LinkError::Kind::lost, 0,
                          settings_.device + ": " + settings_.file + ": " + run_->fault()};
    state_ = State::pausing;
    timer_.expires_after(pause_);
    pause_ = std::min(2 * pause_, settings_.reconnect_last);
    timer_.async_wait([weak = weak_from_this()](boost::system::error_code failed) {
      const auto self = weak.lock();
      if (self && !failed && self->state_ == State::pausing) self->begin();
    });
    const auto closed = events_.closed;
    if (closed) closed(error);
  }

  LinkError not_connected() const {
    return {LinkError::Kind::lost, 0, settings_.device + ": not connected"};
  }

  const RecordedRunSettings settings_;
  asio::any_io_executor executor_;
  asio::steady_timer timer_;
  Events events_;
  State state_ = State::looking;
  std::unique_ptr<RecordedRun> run_;
  std::chrono::milliseconds pause_;
  Steady::time_point played_{};
  std::uint64_t time_us_ = 0;  // played since the link was made
};

}  // namespace

std::shared_ptr<Link> make_recorded_run_link(asio::any_io_executor executor,
                                             RecordedRunSettings settings) {
  return std::make_shared<RecordedRunLink>(std::move(executor), std::move(settings));
}

std::string why_not_played(const RecordedRunSettings& settings) {
  const auto run = open_run(settings);
  while (!run->look_through(kRowsAtATime)) {
  }
  return run->fault();
}

}  // namespace endgate::daemon
