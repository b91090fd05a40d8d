// A bench that a service left claimed which is gone: kept first who asks for it and why, then taken,
// which the device may refuse.

#include <boost/asio/post.hpp>
#include <utility>

#include "daemon/line/station.h"
#include "daemon/line/store_refusal.h"
#include "daemon/line/wall_clock.h"

namespace endgate::daemon {
namespace {

CommandRefusal refusal_of(const StartRefusal& refused) {
  return {409, refused.code, refused.sentence};
}

}  // namespace

void Station::take_bench(const Application::TakeCommand& command,
                         std::function<void(Application::Entered)> done) {
  if (!bench_) return done(CommandRefusal{409, state_.code, state_.message});
  if (const auto refused = bench_->takeover_refused()) return done(refusal_of(*refused));
  const auto act = [weak = weak_from_this(), command, done] {
    const auto self = weak.lock();
    if (!self || !self->bench_) return done(CommandRefusal{409, "B-218", "The bench is gone."});
    self->bench_->take_over(command.by, [command, done](const auto& refused) {
      if (refused) return done(refusal_of(*refused));
      done(Application::Accepted{"bench " + command.bench +
                                 " is given free; it is claimed anew within seconds"});
    });
  };
  const bool queued =
      tools_.records.post([tools = tools_, command, done, act](schema::StoreWriter& store) {
        try {
          store.append(schema::BenchEvent{
              .bench = command.bench,
              .code = "taken_over",
              .text = command.by + " asks to take it over from another service: " + command.why,
              .at = wall_clock_now()});
        } catch (const schema::StoreFault& fault) {
          return done(store_refusal(fault));
        }
        boost::asio::post(tools.io, act);
      });
  if (!queued) done(store_behind());
}

}  // namespace endgate::daemon
