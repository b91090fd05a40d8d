// How does a look at a running hold get to the pool and its answer back, without holding up a
// frame?
//
// At most one question of a bench is on its way; while it is, further looks are dropped: the next
// one comes a quarter of a second later and knows more.  A late or lost answer means: keep on.
//
// Threading: ask() and the answer on the I/O thread, the work on the pool.

#pragma once

#include <boost/asio/io_context.hpp>
#include <boost/asio/thread_pool.hpp>
#include <functional>
#include <memory>

#include "analysis/advise.h"

namespace endgate::daemon {

class AdviceQueue {
 public:
  using Answer = std::function<void(const analysis::Advice&)>;

  AdviceQueue(boost::asio::io_context& io, boost::asio::thread_pool& pool) : io_(io), pool_(pool) {}

  // False: dropped.
  bool ask(analysis::StepSums sums, std::shared_ptr<const analysis::Context> context,
           Answer answer);

 private:
  boost::asio::io_context& io_;
  boost::asio::thread_pool& pool_;
  std::shared_ptr<bool> busy_ =
      std::make_shared<bool>(false);  // read and written on the I/O thread
};

}  // namespace endgate::daemon
