// How does another thread reach the service's thread, and until when?
//
// `post` runs the work there; after `close` it does nothing, so that an answer that comes late,
// when the server is gone, is dropped instead of touching freed memory.

#pragma once

#include <boost/asio/io_context.hpp>
#include <boost/asio/post.hpp>
#include <mutex>
#include <utility>

namespace endgate::daemon {

class ServiceThread {
 public:
  explicit ServiceThread(boost::asio::io_context& io) : io_(&io) {}

  template <class Work>
  void post(Work work) {
    const std::lock_guard lock(mutex_);
    if (io_ != nullptr) boost::asio::post(*io_, std::move(work));
  }
  void close() {
    const std::lock_guard lock(mutex_);
    io_ = nullptr;
  }

 private:
  std::mutex mutex_;
  boost::asio::io_context* io_;
};

}  // namespace endgate::daemon
