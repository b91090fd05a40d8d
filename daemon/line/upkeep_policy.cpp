#include "daemon/line/upkeep_policy.h"

#include <algorithm>

#include "analysis/say_number.h"
#include "analysis/standing.h"
#include "daemon/definitions/date.h"

namespace endgate::daemon {
namespace {

constexpr double kMsOfAnHour = 3.6e6;
constexpr std::int64_t kMsOfADay = 86'400'000;

// One kind of trouble, answered as the policy says.
class Notices {
 public:
  void add(UpkeepAnswer answer, UpkeepNotice notice) {
    if (answer == UpkeepAnswer::ignore) return;
    notice.blocks = answer == UpkeepAnswer::block;
    list_.push_back(std::move(notice));
  }
  std::vector<UpkeepNotice> take() { return std::move(list_); }

 private:
  std::vector<UpkeepNotice> list_;
};

void add_out_of_control(Notices& notices, const BenchKept& kept) {
  for (const KeptAlarm& alarm : kept.alarms)
    if (stops_bench(alarm.fact)) notices.add(UpkeepAnswer::block, notice_of(alarm.fact));
}

// What the newest reference test left open and how it is settled.
std::string doubt_words(const BenchDefinition& bench, const schema::BenchCheck& newest) {
  if (newest.outcome == kNotTaken) return newest.text;
  const auto unit =
      std::ranges::find(bench.reference_units, newest.subject, &ReferenceUnitDefinition::serial);
  const std::string name =
      unit == bench.reference_units.end() ? newest.subject : unit->name + ", " + unit->serial;
  if (newest.outcome == kLearnAnew)
    return "Reference unit " + name + " is to be learned anew on bench " + bench.id + ". Test it.";
  return "The newest reference test of bench " + bench.id + " was out of control, and none since " +
         "shows that it reads right again. " + newest.text + " Test " + name +
         ", or another reference unit.";
}

void add_reference_check(Notices& notices, const BenchDefinition& bench, const UpkeepPolicy& policy,
                         const BenchKept& kept, std::int64_t now_utc_ms) {
  if (bench.reference_units.empty()) return;
  const KeptCheck* newest = newest_check(kept.checks, kReferenceUnit);
  const double within_ms = policy.reference_check_within_h * kMsOfAnHour;
  if (reference_in_doubt(kept)) {
    if (std::ranges::any_of(kept.alarms, stops_bench, &KeptAlarm::fact)) return;  // said already
    return notices.add(policy.reference_check,
                       {.code = "B-311", .sentence = doubt_words(bench, newest->fact)});
  }
  if (newest != nullptr && static_cast<double>(now_utc_ms - newest->fact.at.utc_ms) <= within_ms)
    return;
  const ReferenceUnitDefinition& unit = bench.reference_units.front();
  notices.add(policy.reference_check,
              {.code = "B-311",
               .sentence = "No reference unit was tested on bench " + bench.id + " in the last " +
                           analysis::say_number(policy.reference_check_within_h, 0) +
                           " hours. Test " + unit.name + ", " + unit.serial + ".",
               .subject = unit.serial});
}

void add_calibrations(Notices& notices, const CalibrationFacts& calibration,
                      const UpkeepPolicy& policy, std::int64_t now_utc_ms) {
  for (std::size_t i = 0; i < calibration.channels.size(); ++i) {
    const std::string& due = calibration.channel_notes.at(i).due;
    const auto day = date_of(due);
    if (!day || day_of(now_utc_ms) <= *day) continue;
    notices.add(policy.overdue_calibration,
                {.code = "B-312",
                 .sentence = "The calibration of " + calibration.channels[i].first + " on bench " +
                             calibration.bench + " was valid until " + due + ". Calibrate it.",
                 .alarm = kAlarmCalibration,
                 .subject = calibration.channels[i].first});
  }
}

void add_checks(Notices& notices, const BenchDefinition& bench, const UpkeepPolicy& policy,
                const BenchKept& kept, std::int64_t now_utc_ms) {
  for (const DueCheck& check : bench.due_checks) {
    const KeptCheck* newest = newest_check(kept.checks, check.kind);
    if (newest == nullptr) continue;  // never made: the bench page says so
    if (now_utc_ms - newest->fact.at.utc_ms <= check.every_days * kMsOfADay) continue;
    notices.add(
        policy.overdue_check,
        {.code = "B-313",
         .sentence = "The check " + name_of_check(check.kind) + " of bench " + bench.id +
                     " was due " +
                     say_date(day_of(newest->fact.at.utc_ms + check.every_days * kMsOfADay)) +
                     ". Make it and enter it.",
         .alarm = kAlarmCheck,
         .subject = check.kind});
  }
}

std::int64_t uses_of(const WearPart& part, const BenchKept& kept) {
  const auto found = kept.tests_on_part.find(part.id);
  return found == kept.tests_on_part.end() ? 0 : found->second * part.uses_per_test;
}

void add_parts(Notices& notices, const BenchDefinition& bench, const UpkeepPolicy& policy,
               const BenchKept& kept) {
  for (const WearPart& part : bench.wear_parts)
    if (uses_of(part, kept) >= part.due_after_uses)
      notices.add(policy.worn_part,
                  {.code = "B-314",
                   .sentence = part.name + " of bench " + bench.id + " has been used " +
                               std::to_string(part.due_after_uses) +
                               " times since it was replaced. Replace it and enter it.",
                   .alarm = kAlarmPart,
                   .subject = part.id});
}

}  // namespace

std::vector<UpkeepNotice> upkeep_notices(const BenchDefinition& bench,
                                         const CalibrationFacts* calibration,
                                         const UpkeepPolicy& policy, const BenchKept& kept,
                                         std::int64_t now_utc_ms) {
  Notices notices;
  add_out_of_control(notices, kept);
  if (calibration != nullptr) add_calibrations(notices, *calibration, policy, now_utc_ms);
  add_checks(notices, bench, policy, kept, now_utc_ms);
  add_parts(notices, bench, policy, kept);
  add_reference_check(notices, bench, policy, kept, now_utc_ms);
  return notices.take();
}

bool reference_in_doubt(const BenchKept& kept) {
  const KeptCheck* newest = newest_check(kept.checks, kReferenceUnit);
  if (newest == nullptr) return false;
  const std::string& outcome = newest->fact.outcome;
  return outcome == word_of(analysis::ControlWord::out_of_control) || outcome == kNotTaken ||
         outcome == kLearnAnew;
}

bool stops_bench(const schema::Alarm& alarm) { return alarm.code == kAlarmOutOfControl; }

UpkeepNotice notice_of(const schema::Alarm& alarm) {
  return {.code = "B-310",
          .sentence = alarm.text + " Bench " + alarm.bench +
                      " judges nothing until a person closes the alarm with cause and action.",
          .blocks = true};
}

std::string name_of_check(std::string kind) {
  std::ranges::replace(kind, '_', ' ');
  return kind;
}

bool judges_units(const std::string& purpose) { return analysis::counts_for_standing(purpose); }

const UpkeepNotice* blocking(const std::vector<UpkeepNotice>& notices) {
  const auto found = std::ranges::find_if(notices, &UpkeepNotice::blocks);
  return found == notices.end() ? nullptr : &*found;
}

std::vector<std::string> part_ids(const BenchDefinition& bench) {
  std::vector<std::string> ids;
  for (const WearPart& part : bench.wear_parts) ids.push_back(part.id);
  return ids;
}

std::vector<std::string> check_kinds(const BenchDefinition& bench) {
  std::vector<std::string> kinds{kReferenceUnit};
  for (const DueCheck& check : bench.due_checks) kinds.push_back(check.kind);
  return kinds;
}

std::optional<double> days_left(const WearPart& part, const BenchKept& kept) {
  const double uses_a_day = static_cast<double>(kept.tests_in_30_days * part.uses_per_test) / 30.0;
  if (uses_a_day <= 0) return std::nullopt;
  return static_cast<double>(part.due_after_uses - uses_of(part, kept)) / uses_a_day;
}

}  // namespace endgate::daemon
