// Contact with the devices: off first, then the owner word (bench_owner.cpp), then safe values; and
// every command.

#include <string>

#include "daemon/bench/actuators.h"
#include "daemon/bench/bench_impl.h"
#include "daemon/log/log.h"

namespace endgate::daemon {
namespace {

// For the record and the line; which device it was stands in the log.
std::string words_of_loss(const LinkError& why, const std::string& device) {
  const std::string begins = device + ": ";
  const std::string what = why.text.starts_with(begins) ? why.text.substr(begins.size()) : why.text;
  const bool silent = why.kind == LinkError::Kind::silent;
  return (silent ? "the bench did not answer: " : "the link to the bench was lost: ") + what;
}

}  // namespace

void Bench::Impl::open_links() {
  for (std::size_t device = 0; device < links.size(); ++device) {
    const std::weak_ptr<Impl> weak = weak_from_this();
    links[device]->open({[weak, device] {
                           if (const auto self = weak.lock()) self->on_opened(device);
                         },
                         [weak, device](const LinkError& why) {
                           if (const auto self = weak.lock()) self->on_closed(device, why);
                         },
                         [weak, device](const SampleBlock& block, Steady arrived) {
                           const auto self = weak.lock();
                           if (self && self->run)
                             self->on_part(self->maker.part(device, block, arrived));
                         }});
  }
}

bool Bench::Impl::all_open() const {
  for (const std::string& why : why_closed)
    if (!why.empty()) return false;
  return true;
}

void Bench::Impl::on_opened(std::size_t device) {
  why_closed[device].clear();
  log_info("bench " + bench.id + ": connected to " + bench.devices[device].id);
  const auto relay = find_actuator(bench, actuator::kMotorRelay);
  if (relay && device_index(bench, bench.actuators[*relay].device) == device) order_off();
  if (!all_open()) return;
  claim.opened(Clock::now());
  if (claim.is_ours()) return claimed();  // it has no owner word
  watch_owner(Clock::now());
}

void Bench::Impl::on_closed(std::size_t device, const LinkError& why) {
  const bool was_open = why_closed[device].empty();
  why_closed[device] = why.text;
  claim.closed(Clock::now());
  newest.reset();
  owner_life.forget();
  maker.forget();
  status.forget();
  if (!was_open) return;
  raise("B-201", why.text);
  if (!run) return;
  run->stop_recording();
  const bool silent = why.kind == LinkError::Kind::silent;
  break_off(silent ? analysis::BreakOff::silence : analysis::BreakOff::lost_link,
            words_of_loss(why, bench.devices[device].id));
}

void Bench::Impl::order_off() {
  if (held_by_other()) return;
  off.order(Clock::now());
  send_off();
}

void Bench::Impl::send_off() {
  off.sent(Clock::now());
  const auto relay = find_actuator(bench, actuator::kMotorRelay);
  if (!relay) return off.acknowledged();
  const ActuatorDefinition& actuator = bench.actuators[*relay];
  ++offs_under_way;
  links[device_index(bench, actuator.device)]->write(
      write_of(actuator, 0).value(), Link::Urgency::at_once,
      [weak = weak_from_this()](const std::optional<LinkError>& error) {
        if (const auto self = weak.lock()) self->on_off_answered(error);
      });
}

void Bench::Impl::on_off_answered(const std::optional<LinkError>& error) {
  --offs_under_way;
  const std::string trouble = error ? error->text : "";
  if (!error) off.acknowledged();
  if (error && trouble != off_trouble) log_error("bench " + bench.id + ": motor off: " + trouble);
  off_trouble = trouble;
  if (error && error->kind == LinkError::Kind::refused)
    break_off(analysis::BreakOff::actuator_refused, "motor_relay: " + error->text);
}

// A closed link is sent off as soon as it opens.  One off at a time, so that on a slow line the
// read-back has its turn between two.
bool Bench::Impl::may_repeat_off() const {
  const auto relay = find_actuator(bench, actuator::kMotorRelay);
  if (!relay) return true;
  return offs_under_way == 0 &&
         why_closed[device_index(bench, bench.actuators[*relay].device)].empty();
}

void Bench::Impl::carry_out(const std::vector<ActuatorCommand>& commands) {
  for (const ActuatorCommand& command : commands) {
    if (is_motor_off(command)) {
      off.order(Clock::now());
      send_off();
    } else {
      if (is_motor_on(command)) off.release();
      send(command);
    }
  }
}

void Bench::Impl::send(const ActuatorCommand& command) {
  const auto index = find_actuator(bench, command.actuator);
  if (!index) return;
  const ActuatorDefinition& actuator = bench.actuators[*index];
  const auto write = write_of(actuator, command.value_si);
  if (!write)
    return on_write_failed(actuator.id, {LinkError::Kind::refused, 0,
                                         actuator.id + " was asked for a value outside its range"});
  links[device_index(bench, actuator.device)]->write(
      *write, Link::Urgency::in_turn,
      [weak = weak_from_this(), id = actuator.id](const std::optional<LinkError>& error) {
        const auto self = weak.lock();
        if (self && error) self->on_write_failed(id, *error);
      });
}

void Bench::Impl::on_write_failed(const std::string& actuator, const LinkError& why) {
  log_warning("bench " + bench.id + ": " + actuator + ": " + why.text);
  if (why.kind == LinkError::Kind::refused)
    break_off(analysis::BreakOff::actuator_refused, actuator + ": " + why.text);
}

}  // namespace endgate::daemon
