// What a station and the test that runs on it work with; all outlive them.

#pragma once

#include <boost/asio/io_context.hpp>
#include <boost/asio/post.hpp>
#include <boost/asio/thread_pool.hpp>
#include <filesystem>
#include <functional>
#include <memory>

#include "daemon/definitions/upkeep_definition.h"
#include "daemon/line/configuration.h"
#include "daemon/line/line_state.h"
#include "daemon/line/record_thread.h"
#include "daemon/line/stray.h"

namespace endgate::daemon {

struct StationTools {
  boost::asio::io_context& io;
  boost::asio::thread_pool& pool;
  RecordThread& records;
  std::filesystem::path store_folder;
  std::function<std::shared_ptr<const Configuration>()> configuration;  // the newest
  std::function<void(const LineState&)> changed;
  UpkeepPolicy upkeep{};
  TellStray stray = [](const std::string&) {};

  // A stray exception of `work` is told.
  template <class Work>
  void on_pool(Work work) const {
    boost::asio::post(pool, [tell = stray, work = std::move(work)] { run_guarded(tell, work); });
  }
};

}  // namespace endgate::daemon
