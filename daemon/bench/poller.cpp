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
  for (const DeviceDefinition& device : bench.devices)
    manners_.push_back({device.own_pace, is_modbus(device.link) || is_scpi(device.link), false});
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
    if (manners_[part.device].own_pace) {
      ask_alone(std::move(part));
      continue;
    }
    round->answer.channels.insert(round->answer.channels.end(), part.channels.begin(),
                                  part.channels.end());
    ask_in_round(round, part.device, std::move(part.spans));
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
  Manner& manner = manners_[part.device];
  if (manner.asked) return;
  manner.asked = true;
  ask(part.device, std::move(part.spans),
      [this, device = part.device, channels = std::move(part.channels)](
          const std::vector<DeviceSpan>& spans, ReadAnswer answer) {
        manners_[device].asked = false;
        if (answer.error) return events_.missed(channels);
        carried_->channels.insert(carried_->channels.end(), channels.begin(), channels.end());
        put(*carried_, spans, std::move(answer));
      });
}

void Poller::ask_in_round(const std::shared_ptr<Round>& round, std::size_t device,
                          std::vector<DeviceSpan> spans) {
  ++round->outstanding;
  ask(device, std::move(spans),
      [this, weak = std::weak_ptr<Round>(round)](const std::vector<DeviceSpan>& asked,
                                                 ReadAnswer answer) {
        if (const auto still_wanted = weak.lock()) take(still_wanted, asked, std::move(answer));
      });
}

// `done` is called once and never when the poller is gone; so is what is told before.
void Poller::ask(std::size_t device, std::vector<DeviceSpan> spans, Done done) {
  if (manners_[device].one_by_one) return ask_one_by_one(device, std::move(spans), std::move(done));
  std::vector<RegisterSpan> registers = registers_of(spans);
  links_[device]->read(std::move(registers),
                       [this, alive = std::weak_ptr<RoundAnswer>(carried_),
                        spans = std::move(spans), done = std::move(done)](ReadAnswer answer) {
                         const auto held = alive.lock();
                         if (!held) return;
                         tell(spans, answer);
                         done(spans, std::move(answer));
                       });
}

struct Poller::Asked {
  std::vector<DeviceSpan> spans;
  ReadAnswer answer;
  std::size_t outstanding = 0;
  Done done;
};

// A link that is lost fails every read that is left, and with one of them the whole.
void Poller::ask_one_by_one(std::size_t device, std::vector<DeviceSpan> spans, Done done) {
  const std::vector<RegisterSpan> registers = registers_of(spans);
  const auto asked =
      std::make_shared<Asked>(Asked{std::move(spans), {}, registers.size(), std::move(done)});
  for (std::size_t i = 0; i < registers.size(); ++i)
    links_[device]->read({registers[i]}, [this, alive = std::weak_ptr<RoundAnswer>(carried_), asked,
                                          i](ReadAnswer answer) {
      const auto held = alive.lock();
      if (!held) return;
      tell({asked->spans[i]}, answer);
      ReadAnswer& all = asked->answer;
      if (answer.error) all.error = std::move(answer.error);
      for (SpanAnswer& each : answer.spans) all.spans.push_back(std::move(each));
      if (--asked->outstanding > 0) return;
      if (all.error) all.spans.clear();
      asked->done(asked->spans, std::move(all));
    });
}

void Poller::tell(const std::vector<DeviceSpan>& spans, const ReadAnswer& answer) const {
  if (!events_.part) return;
  for (std::size_t i = 0; i < answer.spans.size(); ++i) events_.part(spans[i], answer.spans[i]);
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
