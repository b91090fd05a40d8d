#include "schema/wal_gauge.h"

namespace endgate::schema {
namespace {

constexpr int kDuePages = 500;  // about 2 MB

}  // namespace

WalGauge::WalGauge(Database& database) : database_(&database) {
  sqlite3_wal_hook(database.raw(), &WalGauge::on_commit, this);
}

int WalGauge::on_commit(void* self, sqlite3*, const char*, int pages) {
  static_cast<WalGauge*>(self)->pages_ = pages;
  return SQLITE_OK;
}

bool WalGauge::checkpoint_when_due() {
  if (pages_ < kDuePages) return false;
  const int code = sqlite3_wal_checkpoint_v2(database_->raw(), nullptr, SQLITE_CHECKPOINT_PASSIVE,
                                             nullptr, nullptr);
  database_->check(code, "checkpoint");
  pages_ = 0;
  return true;
}

void WalGauge::checkpoint_and_truncate() {
  const int code = sqlite3_wal_checkpoint_v2(database_->raw(), nullptr, SQLITE_CHECKPOINT_TRUNCATE,
                                             nullptr, nullptr);
  if ((code & 0xff) == SQLITE_BUSY) return;  // a reader still looks; the log keeps everything
  database_->check(code, "checkpoint");
}

}  // namespace endgate::schema
