#include "daemon/bench/advice_queue.h"

#include <boost/asio/post.hpp>

namespace endgate::daemon {

bool AdviceQueue::ask(analysis::StepSums sums, std::shared_ptr<const analysis::Context> context,
                      Answer answer) {
  if (*busy_) return false;
  *busy_ = true;
  auto work = [&io = io_, busy = busy_, sums = std::move(sums), context = std::move(context),
               answer = std::move(answer)]() mutable {
    const analysis::Advice advice = analysis::advise(sums, *context);
    boost::asio::post(io, [busy, advice, answer = std::move(answer)] {
      *busy = false;
      answer(advice);
    });
  };
  boost::asio::post(pool_, std::move(work));
  return true;
}

}  // namespace endgate::daemon
