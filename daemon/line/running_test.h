// How does a started test become a kept record, and what if the store does not take it?
//
//   pieces of a long run, as they come      --record thread--> durable
//   finish: judged on the pool              --record thread--> trace, record durable --> kept
//                                                          \-> not_kept: the result waits here
//   keep_again: what waits is tried once more
//
// A result that the store refused is held until it is kept or the service ends; then its start is
// what the next service finds, and keeps as broken off.  A long run of which a piece was lost is
// never kept as if it were whole: it becomes void and says so.
//
// Threading: members and events on the I/O thread, but `after_keeping`, which comes on the record
// thread.

#pragma once

#include <functional>
#include <memory>
#include <string>

#include "analysis/raw_trace.h"
#include "daemon/bench/finished_test.h"
#include "daemon/line/line_state.h"
#include "daemon/line/station_tools.h"
#include "schema/store.h"

namespace endgate::daemon {

struct UnitOnBench;

class RunningTest : public std::enable_shared_from_this<RunningTest> {
 public:
  struct Events {
    std::function<void(LineResult)> kept;
    std::function<void(const schema::StoreFault&)> not_kept;
    std::function<void(const std::string& why)> piece_lost;  // the run is worth nothing: end it
    std::function<void(const std::string& fault)> untidy;    // nothing is lost: a checkpoint failed
    std::function<void(schema::StoreWriter&, schema::Position record)> after_keeping;
  };

  // `unit` has its start fact, which is durable.
  RunningTest(const StationTools& tools, std::shared_ptr<const UnitOnBench> unit, bool simulated,
              Events events);
  ~RunningTest();

  void keep_piece(analysis::RawTrace piece);
  void finish(FinishedTest test);  // once
  void keep_again();
  // Judged, refused by the store and not tried again yet.
  [[nodiscard]] bool waits() const { return waiting_ != nullptr; }

 private:
  struct Judged;
  struct Pieces;
  struct Kept;

  void write_piece(schema::StoreWriter& store, const analysis::RawTrace& piece) const;
  void judge(Judged& judged) const;
  void keep(const std::shared_ptr<Judged>& judged);
  [[nodiscard]] Kept write(schema::StoreWriter& store, Judged& judged) const;
  void answered(const std::shared_ptr<Judged>& judged, const Kept& kept);
  void tidy(schema::StoreWriter& store);

  StationTools tools_;
  std::shared_ptr<const UnitOnBench> unit_;
  bool simulated_;
  Events events_;
  std::shared_ptr<Pieces> pieces_;  // on the record thread alone
  std::string piece_refused_;       // why one never got to the record thread
  std::shared_ptr<Judged> waiting_;
};

}  // namespace endgate::daemon
