#include "daemon/bench/poller.h"

#include <algorithm>

namespace endgate::daemon {

struct Poller::Round {
  RoundAnswer answer;
  std::size_t outstanding = 0;
  bool failed = false;
};

Poller::Poller(const BenchDefinition& bench, Links links, Events events)
    : plan_(bench), links_(std::move(links)), events_(std::move(events)) {}

Poller::~Poller() = default;

void Poller::tick(std::int64_t number) {
  if (pending_) return;
  PollRound due = plan_.round(number);
  if (due.spans.empty()) return;
  auto round = std::make_shared<Round>();
  pending_ = round;
  round->answer.channels = std::move(due.channels);
  round->answer.sent = std::chrono::steady_clock::time_point::max();
  for (std::size_t device = 0; device < links_.size(); ++device) {
    std::vector<DeviceSpan> spans;
    for (const DeviceSpan& span : due.spans)
      if (span.device == device) spans.push_back(span);
    if (!spans.empty()) ask(round, device, std::move(spans));
  }
}

void Poller::ask(const std::shared_ptr<Round>& round, std::size_t device,
                 std::vector<DeviceSpan> spans) {
  ++round->outstanding;
  std::vector<RegisterSpan> registers;
  for (const DeviceSpan& span : spans)
    registers.push_back({span.function, span.address, span.count});
  links_[device]->read(std::move(registers), [this, weak = std::weak_ptr<Round>(round),
                                              spans = std::move(spans)](ReadAnswer answer) {
    if (const auto still_wanted = weak.lock()) take(still_wanted, spans, std::move(answer));
  });
}

void Poller::take(const std::shared_ptr<Round>& round, const std::vector<DeviceSpan>& spans,
                  ReadAnswer answer) {
  round->failed = round->failed || answer.error.has_value();
  for (std::size_t i = 0; i < answer.spans.size(); ++i) {
    SpanAnswer& part = answer.spans[i];
    round->answer.image.put(spans[i], std::move(part.words));
    round->answer.sent = std::min(round->answer.sent, part.sent);
    round->answer.arrived = std::max(round->answer.arrived, part.arrived);
  }
  if (--round->outstanding > 0) return;
  pending_.reset();
  if (round->failed)
    events_.missed(round->answer.channels);
  else
    events_.answered(std::move(round->answer));
}

}  // namespace endgate::daemon
