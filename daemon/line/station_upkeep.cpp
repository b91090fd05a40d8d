// What a station does about its bench's own state; see station.h.

#include <boost/asio/post.hpp>
#include <utility>

#include "daemon/line/station.h"
#include "daemon/line/station_unit.h"
#include "daemon/line/upkeep_facts.h"
#include "daemon/line/upkeep_policy.h"
#include "daemon/line/wall_clock.h"

namespace endgate::daemon {

bool Station::upkeep_blocks(const std::vector<UpkeepNotice>& due) {
  const auto configuration = tools_.configuration();
  const auto bench = configuration->benches.find(bench_id_);
  const bool being_checked = bench != configuration->benches.end() &&
                             reference_unit_of(bench->second.value, unit_->serial) != nullptr;
  state_.notices.clear();
  for (const UpkeepNotice& notice : due) {
    if (being_checked && notice.code == "B-311") continue;  // it is just being obeyed
    state_.notices.push_back(notice.sentence);
    if (!notice.alarm.empty()) alarms_->open({notice.alarm, notice.sentence});
  }
  const UpkeepNotice* refusal = blocking(due);
  if (refusal == nullptr || !judges_units(unit_->purpose)) return false;
  show_fault(LinePhase::refused, refusal->code, refusal->sentence);
  return true;
}

// The verdict stands on the page already; by now another unit may.
void Station::show_check(schema::Position record, const schema::BenchCheck& check) {
  if (!state_.result || state_.result->position != record) return;
  state_.result->check_outcome = check.outcome;
  state_.result->check_sentence = check.text;
  publish();
}

// After the answer: what the kept test says about the bench.
std::function<void(schema::StoreWriter&, schema::Position)> Station::bench_keeper() {
  return [weak = weak_from_this(), tools = tools_, bench_id = bench_id_](schema::StoreWriter& store,
                                                                         schema::Position record) {
    const auto configuration = tools.configuration();
    const auto bench = configuration->benches.find(bench_id);
    if (bench == configuration->benches.end()) return;
    try {
      const auto check = keep_upkeep_of(store, tools.store_folder, record, bench->second.value);
      if (!check) return;
      boost::asio::post(tools.io, [weak, record, check = *check] {
        if (const auto self = weak.lock()) self->show_check(record, check);
      });
    } catch (const schema::StoreFault& caught) {
      boost::asio::post(tools.io, [weak, fault = std::string(caught.what())] {
        if (const auto self = weak.lock())
          self->tell_of_store(
              "S-123", "The check of the bench could not be kept: " + fault + ". Tell plant IT.");
      });
    }
  };
}

}  // namespace endgate::daemon
