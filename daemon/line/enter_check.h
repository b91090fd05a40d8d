// What a person found on a bench, or decided about an alarm, becomes a fact.
//
// A check is entered by its readings, in SI, by name; what they say is computed here.
//
//   flow_nozzle      flow_m3_s throat_diameter_m upstream_abs_pa downstream_abs_pa upstream_k
//                    u_area_rel u_upstream_pa u_upstream_k humidity_ratio (0: dried air)
//                    [effective_area_m2: instead of the one computed from the throat]
//   fixture_leak     start_abs_pa end_abs_pa start_k end_k seconds u_pressure_pa
//                    u_temperature_k                          subject: the receiver in circuit
//   receiver_volume  reference_volume_m3 reference_abs_pa receiver_abs_pa final_abs_pa
//                    u_reference_rel u_pressure_pa            subject: the receiver
//   wear_part        none: the part (subject) was replaced
//   learn_anew       none: the reference unit (subject) is learned from its next tests on
//
// Every uncertainty is asked for: one taken as 0 would make the check's limit too tight.  Expected
// values and their u are those of the calibration in force.

#pragma once

#include <map>
#include <string>
#include <variant>

#include "daemon/definitions/bench_definition.h"
#include "daemon/definitions/facts_definition.h"
#include "daemon/line/application.h"
#include "schema/facts.h"

namespace endgate::daemon {

struct CheckEntry {
  std::string bench{}, kind{}, subject{}, by{};
  std::string readings{};  // "flow_m3_s=1.2e-3 upstream_k=293.15"
};

// Readings that a kind needs, as they are typed: "start_abs_pa=... end_abs_pa=..."; empty: none, or
// no such kind.
[[nodiscard]] std::string readings_to_type(const std::string& kind);

// A kind may be written with blanks, a part or reference unit by its id, serial or name.
[[nodiscard]] std::variant<schema::BenchCheck, CommandRefusal> check_of(
    const CheckEntry& entry, const BenchDefinition& bench, const CalibrationFacts& calibration);

// `state` owned needs `by`; closed needs `by`, `cause` and `action`.
struct AlarmStep {
  schema::Position opened = 0;
  std::string state{}, by{}, cause{}, action{};
};
// `newest`: the newest fact of that alarm, as StoreReader::open_alarms() gives it.
[[nodiscard]] std::variant<schema::Alarm, CommandRefusal> next_of(const AlarmStep& step,
                                                                  const schema::Alarm& newest);

// Both keep what they made; run where the writer is.  Throw StoreFault.
[[nodiscard]] Application::Entered enter_check(schema::StoreWriter& writer,
                                               const std::string& store_folder,
                                               const CheckEntry& entry);
[[nodiscard]] Application::Entered enter_alarm_step(schema::StoreWriter& writer,
                                                    const std::string& store_folder,
                                                    const AlarmStep& step);

}  // namespace endgate::daemon
