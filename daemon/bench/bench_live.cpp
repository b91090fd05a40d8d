// What the bench says about itself.

#include "daemon/bench/bench_impl.h"
#include "daemon/log/log.h"

namespace endgate::daemon {
namespace {

constexpr std::chrono::milliseconds kLiveEvery{100};

}  // namespace

Bench::Impl::Stated Bench::Impl::stated() const {
  if (off.unknown())
    return {BenchCondition::motor_unknown, "B-101",
            "Motor state unknown. Press the stop button on the bench now."};
  if (run) return {BenchCondition::running, "", ""};
  for (std::size_t i = 0; i < why_closed.size(); ++i)
    if (!why_closed[i].empty())
      return {BenchCondition::connecting, "B-201",
              "No contact with bench " + bench.id + " (" + why_closed[i] +
                  "). Check its power and its network cable."};
  if (!claim.owns(Clock::now()))
    return {BenchCondition::connecting, "B-202",
            "Bench " + bench.id + " is not ours: " +
                (claim_trouble.empty() ? "its owner word is being read" : claim_trouble) + "."};
  if (const auto whether = status.silent(Clock::now()))
    return {BenchCondition::connecting, "B-216",
            "Bench " + bench.id + " does not say " + *whether +
                ". Check the device that reads its safety inputs."};
  if (!off.confirmed())
    return {BenchCondition::connecting, "B-203", "Motor off is not read back yet. Wait."};
  if (!maker.clock_settled() || !clock_trouble.empty())
    return {BenchCondition::connecting, "B-205",
            clock_trouble.empty() ? "The bench counter is being checked. Wait." : clock_trouble};
  if (const auto silent = maker.silent_channel(Clock::now()))
    return {
        BenchCondition::connecting, "B-214",
        "Channel " + bench.channels[*silent].facts.id + " has no value. Check the sensor plug."};
  return {BenchCondition::ready, "", ""};
}

void Bench::Impl::update_live(Steady now) {
  if (off.unknown() && !unknown_raised)
    raise("B-101", "motor off was sent to bench " + bench.id + " and is not read back");
  unknown_raised = off.unknown();
  const bool pressure_stands = pressure.stands();
  if (pressure_stands && !live.may_be_under_pressure)
    log_warning("bench " + bench.id + ": the unit was not seen vented");
  const bool making_safe = run && run->making_safe();
  Stated state = stated();
  const std::optional<StepProgress> step = run ? std::optional(run->progress()) : std::nullopt;
  const bool changed = state.condition != live.condition || state.text != live.condition_text ||
                       step.has_value() != live.step.has_value() ||
                       pressure_stands != live.may_be_under_pressure ||
                       making_safe != live.making_safe || (step && step->index != live.step->index);
  if (!changed && now - live_sent < kLiveEvery) return;
  live_sent = now;
  live.condition = state.condition;
  live.condition_code = std::move(state.code);
  live.condition_text = std::move(state.text);
  live.step = step;
  live.making_safe = making_safe;
  live.may_be_under_pressure = pressure_stands;
  fill_values(now);
  if (events.live) events.live(live);
}

void Bench::Impl::fill_values(Steady now) {
  const ChannelTable& channels = maker.channels();
  live.values.clear();
  for (std::size_t i = 0; i < channels.size(); ++i) {
    LiveValue value{channels.facts(i).role, std::nullopt, 0, channels.decimals(i)};
    if (const auto& heard = maker.heard(i)) {
      value.age_s = std::chrono::duration<double>(now - heard->at).count();
      if (value.age_s <= channels.facts(i).silent_after_s + channels.facts(i).period_s)
        value.value_si = heard->value_si;
    }
    live.values.push_back(value);
  }
  live.interlocks = newest ? newest->frame.interlocks : Interlocks{};
  const bool running = run && newest;
  live.test_seconds =
      running ? static_cast<double>(newest->frame.bench_time_us - run->start_command_us()) * 1e-6
              : 0;
}

void Bench::Impl::raise(const std::string& code, const std::string& text) {
  log_warning("bench " + bench.id + ": " + code + " " + text);
  if (events.alarm) events.alarm(code, text);
}

}  // namespace endgate::daemon
