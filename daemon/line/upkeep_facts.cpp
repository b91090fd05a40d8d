#include "daemon/line/upkeep_facts.h"

#include <algorithm>

#include "daemon/line/upkeep_policy.h"
#include "daemon/line/wall_clock.h"

namespace endgate::daemon {
namespace {

bool same_trouble(const schema::Alarm& open, const std::string& bench, const std::string& code,
                  const std::string& text) {
  if (open.bench != bench || open.code != code) return false;
  const bool one_a_bench =
      code == kAlarmOutOfControl || code == kAlarmMotor || code == kAlarmPressure;
  return one_a_bench || open.text == text;
}

bool is_silence(const std::string& code) {
  return code == "channel_silent" || code == "broken_off_silence";
}

// The channel that was silent in each of the newest tests; empty when none was.
std::string silent_running(const std::vector<schema::StoredRecord>& newest) {
  std::string channel;
  if (newest.size() < kSilentRunning) return {};
  for (const schema::StoredRecord& stored : newest) {
    const auto& reasons = stored.record.reasons;
    if (reasons.empty() || !is_silence(reasons.front().code)) return {};
    if (!channel.empty() && channel != reasons.front().subject) return {};
    channel = reasons.front().subject;
  }
  return channel;
}

schema::BenchCheck keep_reference_check(schema::StoreWriter& writer,
                                        const std::filesystem::path& folder,
                                        const schema::Record& record,
                                        const ReferenceUnitDefinition& unit) {
  const auto checks = schema::StoreReader(folder).bench_checks(record.start.bench);
  const schema::BenchCheck check = reference_check_of(record, unit.name, checks);
  writer.append(check);
  if (check.outcome == word_of(analysis::ControlWord::out_of_control))
    open_alarm(writer, folder, check.bench, kAlarmOutOfControl, check.text);
  return check;
}

}  // namespace

const ReferenceUnitDefinition* reference_unit_of(const BenchDefinition& bench,
                                                 const std::string& serial) {
  const auto found =
      std::ranges::find(bench.reference_units, serial, &ReferenceUnitDefinition::serial);
  return found == bench.reference_units.end() ? nullptr : &*found;
}

void open_alarm(schema::StoreWriter& writer, const std::filesystem::path& store_folder,
                const std::string& bench, const std::string& code, const std::string& text) {
  for (const KeptAlarm& open : schema::StoreReader(store_folder).open_alarms())
    if (same_trouble(open.fact, bench, code, text)) return;
  writer.append(schema::Alarm{.bench = bench,
                              .code = code,
                              .state = "open",
                              .text = text,
                              .by = "endgate",
                              .at = wall_clock_now()});
}

void close_alarm(schema::StoreWriter& writer, const std::filesystem::path& store_folder,
                 const std::string& bench, const ClosedAtBench& put_right) {
  for (const KeptAlarm& open : schema::StoreReader(store_folder).open_alarms()) {
    if (open.fact.bench != bench || open.fact.code != put_right.code) continue;
    schema::Alarm closed = open.fact;
    closed.opened = opened_by(open);
    closed.state = "closed";
    closed.by = put_right.by;
    closed.cause = "not said: put right at the bench";
    closed.action = put_right.action;
    closed.at = wall_clock_now();
    writer.append(closed);
  }
}

std::set<std::string> benches_with(const schema::StoreReader& reader, const std::string& code) {
  std::set<std::string> benches;
  for (const KeptAlarm& open : reader.open_alarms())
    if (open.fact.code == code) benches.insert(open.fact.bench);
  return benches;
}

std::optional<schema::BenchCheck> keep_upkeep_of(schema::StoreWriter& writer,
                                                 const std::filesystem::path& store_folder,
                                                 schema::Position position,
                                                 const BenchDefinition& bench) {
  const schema::StoreReader reader(store_folder);
  const auto stored = reader.record_at(position);
  if (!stored) return std::nullopt;
  const schema::Record& record = stored->record;
  if (record.verdict == "void") {
    const std::string channel = silent_running(reader.latest_records(kSilentRunning, bench.id));
    if (!channel.empty())
      open_alarm(
          writer, store_folder, bench.id, kAlarmSilent,
          "Channel " + channel + " of bench " + bench.id + " was silent in three tests running.");
    return std::nullopt;
  }
  const ReferenceUnitDefinition* unit = reference_unit_of(bench, record.start.serial);
  if (unit == nullptr || record.start.purpose != "reference") return std::nullopt;
  return keep_reference_check(writer, store_folder, record, *unit);
}

}  // namespace endgate::daemon
