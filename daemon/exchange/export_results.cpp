#include "daemon/exchange/export_results.h"

namespace endgate::daemon {
namespace {

bool is_asked(const ResultsAsked& asked, const ResultRow& row) {
  const auto fits = [](const std::string& wanted, const std::string& found) {
    return wanted.empty() || wanted == found;
  };
  return fits(asked.model, row.model) && fits(asked.bench, row.bench) &&
         fits(asked.batch, row.batch) && fits(asked.purpose, row.purpose) &&
         (!asked.since_utc_ms || row.start_utc_ms >= *asked.since_utc_ms) &&
         (!asked.before_utc_ms || row.start_utc_ms < *asked.before_utc_ms);
}

}  // namespace

void export_results(const schema::StoreReader& store, const ResultsAsked& asked,
                    ResultWriter& writer) {
  const auto write = [&](const auto& kept) {
    if (asked.most && writer.rows() >= *asked.most) return false;
    const ResultRow row = row_of(kept);
    return !is_asked(asked, row) || writer.write(row);
  };
  if (asked.imported)
    store.for_each_imported_behind(asked.behind, write);
  else
    store.for_each_record_behind(asked.behind, write);
}

}  // namespace endgate::daemon
