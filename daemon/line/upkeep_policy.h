// What of this bench is due or in trouble just now, and may a unit be judged on it?
//
// Asked by the station once per scan, of facts that were read from the store for it; whether an
// alarm stops the bench is asked again at the start.  Only tests
// that judge units are ever refused: a reference, lab or trial test is how a bench is put right.
//
// This is the one place where the wall clock is compared: a due date is a date.  It decides whether
// a test may begin, never a verdict and never an order.
//
//   B-310  a reference unit is out of control: refused until a person closes the alarm
//   B-311  no reference unit was tested for longer than [upkeep] reference_check_within_h, or the
//          newest such test does not show that the bench is in control: its alarm was closed, but
//          closing one is a decision and no measurement
//   B-312  the calibration of a channel is overdue
//   B-313  a check of the bench is overdue
//   B-314  a part has been used as often as it may

#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "daemon/definitions/bench_definition.h"
#include "daemon/definitions/facts_definition.h"
#include "daemon/queries/bench_checks.h"

namespace endgate::daemon {

// Codes of alarms, for ever; schema/README.md lists them.
inline constexpr const char* kAlarmOutOfControl = "reference_out_of_control";
inline constexpr const char* kAlarmCalibration = "calibration_overdue";
inline constexpr const char* kAlarmCheck = "check_overdue";
inline constexpr const char* kAlarmCheckOut = "check_out_of_control";
inline constexpr const char* kAlarmPart = "part_worn";
inline constexpr const char* kAlarmSilent = "channel_silent_again";
inline constexpr const char* kAlarmMotor = "motor_state_unknown";
inline constexpr const char* kAlarmPressure = "unit_under_pressure";

struct UpkeepNotice {
  std::string code{};      // "B-312"
  std::string sentence{};  // what is due and what to do
  std::string alarm{};     // code of the alarm to open; empty: none
  std::string subject{};   // channel, kind of check, part or reference unit it is about
  bool blocks = false;
};

[[nodiscard]] std::vector<UpkeepNotice> upkeep_notices(const BenchDefinition& bench,
                                                       const CalibrationFacts* calibration,
                                                       const UpkeepPolicy& policy,
                                                       const BenchKept& kept,
                                                       std::int64_t now_utc_ms);

// An open alarm that stops a bench, whatever the policy says; and what is said of it.
[[nodiscard]] bool stops_bench(const schema::Alarm& alarm);
[[nodiscard]] UpkeepNotice notice_of(const schema::Alarm& alarm);

// Does the newest reference test speak against the bench, or say nothing of it?
[[nodiscard]] bool reference_in_doubt(const BenchKept& kept);

// "flow_nozzle" -> "flow nozzle", for sentences.
[[nodiscard]] std::string name_of_check(std::string kind);

[[nodiscard]] bool judges_units(const std::string& purpose);  // production, retest, returned

// The first that blocks; nothing when a unit may be judged.
[[nodiscard]] const UpkeepNotice* blocking(const std::vector<UpkeepNotice>& notices);

[[nodiscard]] std::vector<std::string> part_ids(const BenchDefinition& bench);
// Kinds of checks that upkeep_notices() asks for.
[[nodiscard]] std::vector<std::string> check_kinds(const BenchDefinition& bench);

// Days until a part is due at the rate of the last 30 days; nothing when it was not used.
[[nodiscard]] std::optional<double> days_left(const WearPart& part, const BenchKept& kept);

}  // namespace endgate::daemon
