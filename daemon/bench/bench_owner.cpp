// The owner word on the wire: owner_claim.h decides.

#include <boost/asio/post.hpp>
#include <string>

#include "daemon/bench/actuators.h"
#include "daemon/bench/bench_impl.h"
#include "daemon/log/log.h"

namespace endgate::daemon {
namespace {

// Null: the bench has no owner word.
const ActuatorDefinition* owner_register(const BenchDefinition& bench) {
  const auto owner = find_actuator(bench, actuator::kOwner);
  return owner && bench.owner_word != 0 ? &bench.actuators[*owner] : nullptr;
}

}  // namespace

// Longer than from one question of an owner to the next answer.
OwnerClaim claim_for(const BenchDefinition& bench) {
  const ActuatorDefinition* owner = owner_register(bench);
  if (owner == nullptr) return {0, OwnerClaim::kWatch};
  const DeviceDefinition& device = bench.devices[device_index(bench, owner->device)];
  return {bench.owner_word, OwnerClaim::kWatch + 3 * device.transaction_deadline};
}

void Bench::Impl::watch_owner(Steady now) {
  const ActuatorDefinition* owner = owner_register(bench);
  if (owner == nullptr || !all_open()) return;
  if (claim.is_ours() && !claim.owns(now)) doubt_ownership();
  if (!claim.read_due(now)) return;
  claim.asked();
  links[device_index(bench, owner->device)]->read(
      {owner_span(*owner)}, [weak = weak_from_this(), now](const ReadAnswer& answer) {
        const auto self = weak.lock();
        if (self && !answer.error) self->on_owner_read(answer.spans[0].words, now);
      });
}

void Bench::Impl::on_owner_read(const std::vector<std::uint16_t>& words, Steady asked_at) {
  const auto word = words.empty() ? std::nullopt : std::optional(words.front());
  switch (claim.on_read(word, asked_at, Clock::now())) {
    case OwnerClaim::Step::write:
      return write_owner();
    case OwnerClaim::Step::taken:
      return claimed();
    case OwnerClaim::Step::lost:
      lose_bench();
      break;
    case OwnerClaim::Step::none:
      break;
  }
  if (claim.holder())
    leave_bench("it is held by owner word " + std::to_string(*claim.holder()));
  else if (!word)
    leave_bench("its owner word cannot be read");
  else if (claim.owns(Clock::now()))
    claim_trouble.clear();
}

// Another service may have taken it and may own it by now.
void Bench::Impl::doubt_ownership() {
  leave_bench("its owner word cannot be read");
  break_off(analysis::BreakOff::actuator_refused,
            "whether the bench is still ours could not be read");
}

// What is being made safe goes on with it: its motor and its pressure are still ours.
void Bench::Impl::lose_bench() {
  break_off(analysis::BreakOff::actuator_refused,
            claim.holder() ? "another service took the bench while the test ran"
                           : "the bench was given free while the test ran");
  if (!claim.holder()) leave_bench("it was given free by somebody else");
}

void Bench::Impl::leave_bench(std::string why) {
  if (claim.owns(Clock::now())) return;
  if (held_by_other()) off.release();
  if (claim_trouble != why) raise("B-202", "bench " + bench.id + ": " + why);
  claim_trouble = std::move(why);
}

void Bench::Impl::write_owner() {
  const ActuatorDefinition& owner = *owner_register(bench);
  links[device_index(bench, owner.device)]->write(
      owner_write(owner, bench.owner_word), Link::Urgency::in_turn,
      [weak = weak_from_this()](const std::optional<LinkError>& error) {
        const auto self = weak.lock();
        if (!self) return;
        if (!error) return self->claim.on_written(Clock::now());
        if (error->kind != LinkError::Kind::refused) return;
        self->claim.on_refused(Clock::now());
        self->leave_bench("another one was faster");
      });
}

std::optional<StartRefusal> Bench::Impl::takeover_refused() const {
  const auto refuse = [](const char* code, const std::string& sentence) {
    return StartRefusal{code, sentence};
  };
  if (!claim.holder())
    return refuse("B-218", "Bench " + bench.id + " is not held by another service.");
  switch (owner_life.seen(Clock::now())) {
    case LifeWatch::Seen::untold:
      return refuse("B-219",
                    "Bench " + bench.id +
                        " does not tell whether the other service is at work. Make sure it "
                        "is not, then set the owner word to 0 at the device.");
    case LifeWatch::Seen::alive:
      return refuse("B-219", "The service that holds bench " + bench.id +
                                 " was at work just now, its lease live or its motor running, or "
                                 "was not watched for 3 s yet. Stop that service, then try again.");
    case LifeWatch::Seen::quiet:
      break;
  }
  return std::nullopt;
}

void Bench::Impl::take_over(const std::string& who, TakenOver done) {
  if (const auto refused = takeover_refused()) return done(refused);
  log_warning("bench " + bench.id + ": owner word " + std::to_string(*claim.holder()) +
              " is given free by " + who);
  const ActuatorDefinition& owner = *owner_register(bench);
  links[device_index(bench, owner.device)]->write(
      owner_write(owner, 0), Link::Urgency::in_turn,
      [id = bench.id, done = std::move(done)](const std::optional<LinkError>& error) {
        if (!error) return done(std::nullopt);
        log_warning("bench " + id + ": was not given free: " + error->text);
        done(StartRefusal{"B-219", "Bench " + id + " was not given free: " + error->text +
                                       ". Try again, or set the owner word to 0 at the device."});
      });
}

// Our word may stand though the bench is not ours yet, or not any more since contact with another of
// its devices was lost: who finds it there needs a person.  Another's word is left alone.
void Bench::Impl::give_bench_back(std::function<void()> done) {
  const ActuatorDefinition* owner = owner_register(bench);
  if (owner == nullptr || !why_closed[device_index(bench, owner->device)].empty())
    return boost::asio::post(io, std::move(done));
  if (claim.owns(Clock::now())) return write_free(*owner, std::move(done));
  links[device_index(bench, owner->device)]->read(
      {owner_span(*owner)},
      [self = shared_from_this(), owner, done = std::move(done)](const ReadAnswer& answer) {
        const bool stands = !answer.error && !answer.spans[0].words.empty() &&
                            answer.spans[0].words.front() == self->bench.owner_word;
        if (stands) return self->write_free(*owner, done);
        done();
      });
}

void Bench::Impl::write_free(const ActuatorDefinition& owner, std::function<void()> done) {
  links[device_index(bench, owner.device)]->write(
      owner_write(owner, 0), Link::Urgency::in_turn,
      [done = std::move(done)](const std::optional<LinkError>&) { done(); });
}

// Whatever a dead predecessor left behind is made safe; the motor is off already.
void Bench::Impl::claimed() {
  claim_trouble.clear();
  if (!off.wanted()) order_off();  // another one had it meanwhile
  for (const ActuatorCommand& command : safe_commands(bench))
    if (!is_motor_off(command)) send(command);
}

}  // namespace endgate::daemon
