#include "daemon/bench/advice_queue.h"

#include <boost/asio/post.hpp>
#include <exception>
#include <optional>

#include "daemon/log/log.h"

namespace endgate::daemon {

bool AdviceQueue::ask(analysis::StepSums sums, std::shared_ptr<const analysis::Context> context,
                      Answer answer) {
  if (*busy_) return false;
  auto work = [&io = io_, busy = busy_, sums = std::move(sums), context = std::move(context),
               answer = std::move(answer)]() mutable {
    std::optional<analysis::Advice> advice;
    try {
      advice = analysis::advise(sums, *context);
    } catch (const std::exception& stray) {  // no advice: the hold keeps on
      log_error(std::string("A hold could not be advised: ") + stray.what());
    }
    boost::asio::post(io, [busy, advice, answer = std::move(answer)] {
      *busy = false;
      if (advice) answer(*advice);
    });
  };
  boost::asio::post(pool_, std::move(work));
  *busy_ = true;  // a post that threw leaves the next look free; the answer comes on this thread
  return true;
}

}  // namespace endgate::daemon
