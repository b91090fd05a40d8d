// How many pages has the log gathered, and is it time for a checkpoint?
//
// The writer never checkpoints inside COMMIT: a failure there is silent and its time would lie
// between the last sample and the verdict.  It asks here after the answer.

#pragma once

#include "schema/sqlite_handle.h"

namespace endgate::schema {

class WalGauge {
 public:
  // After prepare_for_writing: setting wal_autocheckpoint takes the hook away.
  explicit WalGauge(Database& database);
  WalGauge(const WalGauge&) = delete;
  WalGauge& operator=(const WalGauge&) = delete;

  // True when a checkpoint was due and done; the caller then makes one small commit, so that the
  // log starts anew (one sync more) there and not in the next test.
  [[nodiscard]] bool checkpoint_when_due();
  // Moves all there is and empties the log; for the end.
  void checkpoint_and_truncate();

 private:
  static int on_commit(void* self, sqlite3*, const char*, int pages);

  Database* database_;
  int pages_ = 0;
};

}  // namespace endgate::schema
