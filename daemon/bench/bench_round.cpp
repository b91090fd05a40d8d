// From a poll round to the test that runs on it.

#include <boost/asio/post.hpp>

#include "daemon/bench/bench_impl.h"

namespace endgate::daemon {

void Bench::Impl::on_round(RoundAnswer answer) {
  auto picture = maker.make(answer);
  if (!picture) return on_missed(answer.channels);
  newest = std::move(picture);
  const Frame& frame = newest->frame;
  off.on_frame(frame);
  if (claim.holder())
    owner_life.on_frame(frame);
  else
    owner_life.forget();
  if (!run && claim.is_ours()) pressure.on_frame(frame);
  status.on_frame(frame);
  if (!newest->clock_fault.empty())
    on_clock_fault(newest->clock_fault);
  else if (maker.clock_settled())
    clock_trouble.clear();
  if (run) carry_out(run->on_frame(frame, newest->read_backs).commands);
  ask_for_advice();
  hand_over_piece();
  hand_over_if_finished();
}

void Bench::Impl::on_part(const Part& part) {
  if (run && newest) carry_out(run->on_part(part).commands);
}

void Bench::Impl::hand_over_piece() {
  if (!run || !events.piece) return;
  if (auto piece = run->take_piece()) events.piece(std::move(*piece));
}

void Bench::Impl::ask_for_advice() {
  if (!run || !events.look) return;
  if (auto sums = run->look()) events.look(std::move(*sums));
}

void Bench::Impl::on_missed(const std::vector<std::size_t>& channels) {
  if (run) run->missed(channels);
}

void Bench::Impl::on_clock_fault(const std::string& fault) {
  clock_trouble = fault;
  raise("B-205", fault);
  break_off(analysis::BreakOff::clock_sick, fault);
}

void Bench::Impl::break_off(analysis::BreakOff cause, const std::string& detail) {
  if (!run || run->making_safe() || run->finished()) return;
  carry_out(run->break_off(cause, detail).commands);
}

// Posted: the callback may start the next test or destroy the bench.
void Bench::Impl::hand_over_if_finished() {
  if (!run || !run->finished()) return;
  FinishedTest test = run->finish();
  run.reset();
  if (held_by_other()) off.release();  // its motor is the other's from here on
  pressure.test_is_over();
  if (newest && claim.is_ours()) pressure.on_frame(newest->frame);
  update_live(Clock::now());
  boost::asio::post(io, [self = shared_from_this(), test = std::move(test)]() mutable {
    if (self->events.finished) self->events.finished(std::move(test));
  });
}

}  // namespace endgate::daemon
