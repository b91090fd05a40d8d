#include "daemon/bench/poller.h"

#include <algorithm>

namespace endgate::daemon {

struct Poller::Round {
  RoundAnswer answer;
  std::size_t outstanding = 0;
  bool failed = false;
};

// What one device is asked in a round.
struct Poller::Part {
  std::size_t device = 0;
  std::vector<std::size_t> channels;
  std::vector<DeviceSpan> spans;
};

namespace {

std::vector<RegisterSpan> registers_of(const std::vector<DeviceSpan>& spans) {
  std::vector<RegisterSpan> registers;
  for (const DeviceSpan& span : spans) {
    registers.push_back({span.function, span.address, span.count});
    if (span.unit_id) registers.back().unit = static_cast<std::uint8_t>(*span.unit_id);
  }
  return registers;
}

void put(RoundAnswer& round, const std::vector<DeviceSpan>& spans, ReadAnswer answer) {
  if (answer.spans.empty()) return;
  DeviceAnswer device{spans.front().device, answer.spans.front().sent, answer.spans.back().arrived,
                      std::move(answer.spans.front().blocks)};
  for (std::size_t i = 0; i < answer.spans.size(); ++i)
    round.image.put(spans[i], std::move(answer.spans[i].words));
  round.sent = std::min(round.sent, device.sent);
  round.arrived = std::max(round.arrived, device.arrived);
  round.devices.push_back(std::move(device));
}

// The moments of the round stay those of the devices it waited for.
void join(RoundAnswer& round, RoundAnswer& carried) {
  round.image.add(std::move(carried.image));
  round.channels.insert(round.channels.end(), carried.channels.begin(), carried.channels.end());
  for (DeviceAnswer& device : carried.devices) round.devices.push_back(std::move(device));
  carried = {};
}

}  // namespace

Poller::Poller(const BenchDefinition& bench, Links links, Events events)
    : plan_(bench),
      carried_(std::make_shared<RoundAnswer>()),
      links_(std::move(links)),
      events_(std::move(events)) {
  for (const ChannelDefinition& channel : bench.channels)
    device_of_channel_.push_back(device_index(bench, channel.source.device));
  for (const DeviceDefinition& device : bench.devices) alone_.push_back({device.own_pace, false});
}

Poller::~Poller() = default;

void Poller::tick(std::int64_t number) {
  if (pending_) return;
  PollRound due = plan_.round(number);
  if (due.spans.empty()) return;
  auto round = std::make_shared<Round>();
  pending_ = round;
  round->answer.sent = std::chrono::steady_clock::time_point::max();
  for (Part& part : parts_of(std::move(due))) {
    if (alone_[part.device].own_pace) {
      ask_alone(std::move(part));
      continue;
    }
    round->answer.channels.insert(round->answer.channels.end(), part.channels.begin(),
                                  part.channels.end());
    ask(round, part.device, std::move(part.spans));
  }
  if (round->outstanding == 0) pending_.reset();
}

std::vector<Poller::Part> Poller::parts_of(PollRound due) const {
  std::vector<Part> parts;
  for (const DeviceSpan& span : due.spans) {
    if (parts.empty() || parts.back().device != span.device) parts.push_back({span.device, {}, {}});
    parts.back().spans.push_back(span);
  }
  for (Part& part : parts)
    for (const std::size_t channel : due.channels)
      if (device_of_channel_[channel] == part.device) part.channels.push_back(channel);
  return parts;
}

// Still busy with the question before: its channels are asked when they are due again.
void Poller::ask_alone(Part part) {
  Alone& alone = alone_[part.device];
  if (alone.asked) return;
  alone.asked = true;
  std::vector<RegisterSpan> registers = registers_of(part.spans);
  links_[part.device]->read(std::move(registers), [this,
                                                   weak = std::weak_ptr<RoundAnswer>(carried_),
                                                   part](ReadAnswer answer) {
    const auto carried = weak.lock();
    if (!carried) return;
    alone_[part.device].asked = false;
    if (answer.error) return events_.missed(part.channels);
    carried->channels.insert(carried->channels.end(), part.channels.begin(), part.channels.end());
    put(*carried, part.spans, std::move(answer));
  });
}

void Poller::ask(const std::shared_ptr<Round>& round, std::size_t device,
                 std::vector<DeviceSpan> spans) {
  ++round->outstanding;
  std::vector<RegisterSpan> registers = registers_of(spans);
  links_[device]->read(std::move(registers), [this, weak = std::weak_ptr<Round>(round),
                                              spans = std::move(spans)](ReadAnswer answer) {
    if (const auto still_wanted = weak.lock()) take(still_wanted, spans, std::move(answer));
  });
}

void Poller::take(const std::shared_ptr<Round>& round, const std::vector<DeviceSpan>& spans,
                  ReadAnswer answer) {
  round->failed = round->failed || answer.error.has_value();
  put(round->answer, spans, std::move(answer));
  if (--round->outstanding > 0) return;
  pending_.reset();
  if (round->failed) return events_.missed(round->answer.channels);
  join(round->answer, *carried_);
  events_.answered(std::move(round->answer));
}

}  // namespace endgate::daemon
