// A recorded run (recorded_run.h) behind the Link interface, so that sequence and pages can be
// tried without a bench.
//
//   input registers from 4 k    column k of `columns` as a double, high word first; no value: NaN
//   holding registers 0, 1      low 32 bits of the time played, in microseconds, high word first
//   a write to address k        four words, a double: command k of `commands`
//
// Times run `rate` times faster than the steady clock, slower when nobody asks for half a second of
// it.  The file is looked through in short pieces before the link is open, then read as it is
// played.  A file that cannot be played keeps the link closed and is tried again, as a device would
// be.

#pragma once

#include "daemon/links/transaction_link.h"

namespace endgate::daemon {

struct RecordedRunSettings : LinkTimes {
  std::string device;  // for error texts
  std::string file;
  double rate = 1;
  std::vector<std::string> columns;
  std::vector<std::string> commands;  // ids of actuators
};

[[nodiscard]] std::shared_ptr<Link> make_recorded_run_link(boost::asio::any_io_executor executor,
                                                           RecordedRunSettings settings);

// Why this run cannot be played; empty when it can.  Reads the whole file.
[[nodiscard]] std::string why_not_played(const RecordedRunSettings& settings);

}  // namespace endgate::daemon
