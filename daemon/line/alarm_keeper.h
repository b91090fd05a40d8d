// Who keeps the alarms of one bench in the store, when the store may refuse?
//
// In the order they come; what is refused waits and is tried again, for an alarm that a person has
// to see must outlive a restart.  One that the store does not accept lets the others by.  What is
// lost all the same was told and logged.  It outlives the station it was made for.
//
// Threading: every member runs on the I/O thread; the store is written on the record thread.

#pragma once

#include <boost/asio/steady_timer.hpp>
#include <deque>
#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <utility>
#include <variant>

#include "daemon/line/record_thread.h"
#include "daemon/line/upkeep_facts.h"

namespace endgate::daemon {

struct AlarmOnBench {
  std::string code;
  std::string text;

  bool operator==(const AlarmOnBench&) const = default;
};

class AlarmKeeper : public std::enable_shared_from_this<AlarmKeeper> {
 public:
  // Of the first refusal until something was kept: not once a try.
  using Tell = std::function<void(const std::string& code, const std::string& text)>;

  AlarmKeeper(boost::asio::io_context& io, RecordThread& records, std::filesystem::path store,
              std::string bench, Tell tell);

  // From now on: the station it was made for was replaced.
  void tell_to(Tell tell) { tell_ = std::move(tell); }
  void open(const AlarmOnBench& alarm);
  // What was put right at the bench is closed in the store too: a restart would bring it back.
  void close(const ClosedAtBench& put_right);
  // Now, whatever the last refusal was: the service ends, or a person has made space.
  void try_again();

 private:
  using Change = std::variant<AlarmOnBench, ClosedAtBench>;

  [[nodiscard]] bool waits_open(const AlarmOnBench& alarm) const;
  void add(Change change);
  void write_first();
  void written(const std::optional<schema::StoreFault>& fault);
  [[nodiscard]] bool let_others_by();
  void tell_once(const std::string& fault);
  void pause();

  boost::asio::io_context& io_;
  RecordThread& records_;
  std::filesystem::path store_;
  std::string bench_;
  Tell tell_;
  boost::asio::steady_timer pause_;
  std::deque<Change> waiting_;
  bool writing_ = false;    // the first of `waiting_` is with the record thread
  bool refusing_ = false;   // told already
  std::size_t let_by_ = 0;  // changes in turn that the store did not accept
};

}  // namespace endgate::daemon
