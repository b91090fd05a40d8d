// What is kept?  Plain structs, one per kind of fact in truth.
//
// Numbers are SI; missing is std::nullopt; NaN is refused when a fact is sealed.  Nothing here
// knows the analysis: daemon/mapping turns results into these and back.  Every member has a
// default, so that a fact is written with designated initialisers.

#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace endgate::schema {

using Hash = std::array<std::uint8_t, 32>;  // SHA-256

// Every fact of any kind has one running position in its store, from 1.
using Position = std::int64_t;

enum class FactKind : std::uint16_t {
  store_opened = 1,  // the store's id, and the store it was restored from
  definition = 2,    // an accepted text: bench, model, calibration, corrections, limits
  test_start = 3,
  record = 4,
  repair = 5,
  bench_event = 6,  // a bench taken out of use, put back, motor state unknown ...
  lots = 7,
  disposition = 8,
  return_intake = 9,
  alarm = 10,
  imported_test = 11,
  trace_removed = 12,
  bench_check = 13,
  withdrawal = 14,
};

struct WallClock {
  std::int64_t utc_ms = 0;
  bool synchronised = false;
  std::int64_t max_error_us = -1;  // -1: not known
};

// The first fact of a store, and again whenever its signing key is made anew.
struct StoreOpened {
  std::array<std::uint8_t, 16> store_id{};         // random
  std::array<std::uint8_t, 32> public_key{};       // Ed25519, signs the heads from here on
  std::string restored_from{};                     // store id in hexadecimal; empty: a new store
  std::optional<Position> restored_to_position{};  // last position taken over by a restore
  WallClock at{};
};

// A text accepted by a person; `version` counts per (kind, subject) from 1.
struct Definition {
  std::string kind{};        // "bench", "model", "calibration", "corrections", "limits"
  std::string subject{};     // bench or model id
  std::int64_t version = 0;  // set by the store on append
  std::string text{};
  Hash text_sha256{};  // set by the store on append
  std::string by{};    // claimed, not proven, until users exist
  std::string why{};
  WallClock at{};
  std::string second_by{};  // a changed limit set is released by two people
};

// Committed before the relay is commanded.
struct TestStart {
  std::string serial{};
  std::int64_t attempt = 0;
  std::string model{};
  std::string bench{};
  std::string batch{};          // empty: not stated
  std::string purpose{};        // production, retest, reference, returned, lab, trial
  std::string reason{};         // why a retest; empty otherwise
  std::string operator_name{};  // claimed
  WallClock at{};
  std::string software{};  // version
};

struct UncertaintyPart {
  std::string cause{};
  double u = 0;
};
struct MetricValue {
  std::string id{};
  std::optional<double> value{};
  std::optional<double> u{};
  std::vector<UncertaintyPart> parts{};
  bool extrapolated = false;
  std::string missing_reason{};
};
struct BandAsWas {  // one point of a limit on the curve
  double gauge_pa = 0;
  std::optional<double> lower{}, upper{};
  std::optional<double> flow_m3_s{}, u_m3_s{};  // of the curve there
  std::string outcome{};
};
struct LimitAsWas {
  std::string metric{};
  std::optional<double> lower{}, upper{};
  double pass_band = 0, fail_band = 0;
  bool warn = false;
  std::string outcome{};  // pass, fail, undecided
  std::optional<double> margin{};
  std::string sentence{};
  // Of a relation and of the curve, which are no metric: what was held against the bounds.
  std::optional<double> value{}, u{};
  std::optional<double> gauge_pa{};  // of the curve: its worst point
  std::vector<BandAsWas> band{};
};
struct ReasonGiven {
  std::string code{};
  std::string subject{};
  std::string sentence{};
};
struct DrawnPoint {
  double gauge_pa = 0, flow_m3_s = 0, u_m3_s = 0;
  bool extrapolated = false;
};
struct CurveAsFitted {
  double a_m3 = 0, b_m3 = 0, leak_m3_s = 0, exponent = 0;
  std::array<double, 9> covariance{};  // row by row, order a, b, L
  double ratio_min = 0, ratio_max = 0, chi_square = 0;
  std::int64_t degrees_of_freedom = 0;
  bool contradicted = false;
};
struct PointAsReduced {  // one hold, as analysis::OperatingPoint
  std::string step_id{};
  double target_gauge_pa = 0;
  std::int64_t window_start_us = 0, window_end_us = 0;
  double discharge_pressure_abs_pa = 0, inlet_pressure_abs_pa = 0;
  double flow_inlet_m3_s = 0, flow_u_random_m3_s = 0, storage_m3_s = 0;
  double speed_rev_s = 0, speed_u_random_rev_s = 0;
  double supply_current_a = 0, current_u_random_a = 0, supply_voltage_v = 0;
  double head_temperature_k = 0, case_temperature_k = 0, inlet_temperature_k = 0;
  double relative_humidity = 0;
  double drift_rel = 0;  // of flow over the window
  bool steady = false;
  std::string note{};
};
struct HealthAsFound {
  std::string channel{}, state{}, detail{};
  std::optional<std::int64_t> time_us{};  // bench time it began
};

// Causes that the test could not tell apart; likeliest group first in a record.
struct CauseStated {
  std::vector<std::string> causes{};  // ids
  std::string name{};
  double probability = 0;
  bool of_bench = false;
  std::string evidence{};
  std::string told_apart_by{};
};

// The sealed facts of one test.
struct Record {
  Position start_position = 0;  // of its test_start
  TestStart start{};            // repeated, so that the record stands alone
  std::string verdict{};        // pass, fail, undecided, void
  std::string standing{};       // release, hold, reject
  std::string standing_reason{};
  std::string would_have_been{};
  std::vector<ReasonGiven> reasons{};
  std::string likely_cause{};  // the first of `causes` in words; empty: none stated
  std::optional<double> cycle_s{};
  std::string break_off{};  // empty: the sequence ran to its end
  std::vector<MetricValue> metrics{};
  std::vector<LimitAsWas> limits{};
  std::vector<PointAsReduced> points{};
  std::optional<CurveAsFitted> curve{};
  std::string curve_refusal{};
  std::vector<DrawnPoint> drawn{};
  std::vector<HealthAsFound> health{};
  std::vector<std::string> context_ids{};     // "limits P1-60-12@1", ...
  std::vector<std::uint8_t> context_bytes{};  // the whole context, canonical (daemon/mapping)
  std::optional<Hash> trace_sha256{};         // over decoded values in channel order
  std::string trace_file{};                   // name of the trace file it was written to
  WallClock finished{};
  std::string software{};
  bool simulated = false;
  std::vector<CauseStated> causes{};  // empty: none stated
  std::string class_reached{};        // of a pass; empty: none
};

struct Repair {
  std::string serial{};
  std::string finding{};  // from the list of causes, or free text
  std::string parts{};
  std::string by{};
  WallClock at{};
};

struct BenchEvent {
  std::string bench{}, code{}, text{};
  WallClock at{};
};

// Which lots of parts went into a unit, or into every unit of a batch.  A later fact of the same
// subject adds to the earlier ones: a lot that was built in stays known after its part is replaced.
struct PartLot {
  std::string part{};  // motor, reed, piston_ring, gasket ...
  std::string lot{};
};
struct Lots {
  std::string subject_kind{};  // unit, batch
  std::string subject{};       // serial or batch
  std::vector<PartLot> parts{};
  std::string source{};  // where it was read: a file, a scanner, a person
  std::string by{};
  WallClock at{};
};

// What people decided about a unit that is not released.
struct Disposition {
  std::string serial{};
  std::string decision{};  // retest, scrap, concession
  std::string reason{};
  std::string by{};
  std::string second_by{};  // a concession needs two people
  WallClock at{};
};

// A unit came back: what its user said and how it looked, before it is tested.
struct ReturnIntake {
  std::string serial{};
  std::string complaint{};
  std::string condition{};  // as received
  std::optional<double> months_in_use{};
  std::optional<double> hours_in_use{};
  std::string by{};
  WallClock at{};
};

// One step in the life of an alarm.  The fact that opens it has `opened` 0; later ones name it.
struct Alarm {
  Position opened = 0;
  std::string bench{};  // empty: not of one bench
  std::string code{};
  std::string state{};  // open, owned, closed
  std::string text{};
  std::string owner{};
  std::string cause{};
  std::string action{};
  std::string by{};
  WallClock at{};
};

// A result from elsewhere: an older paper, a spreadsheet.  Never part of a standing.
struct ImportedTest {
  std::string source{};   // what it was read from
  std::int64_t line = 0;  // of that source; (source, line) exists once
  std::string serial{}, model{}, bench{}, batch{}, purpose{};
  std::string verdict{};  // as the source says; empty: it does not say
  std::int64_t tested_utc_ms = 0;
  std::vector<MetricValue> metrics{};
  std::string by{};
  WallClock at{};
  std::string why{};
  std::optional<Hash> file_sha256{};  // of the whole text of the file it was read from
  std::optional<std::int64_t> attempt{};
  std::optional<double> cycle_s{};
  std::string reasons{}, likely_cause{};  // as the source says
};

// A raw trace was taken away by policy; the record with its numbers and the seal stay.
struct TraceRemoved {
  Position record = 0;
  Hash trace_sha256{};
  std::string trace_file{};
  std::string policy{};  // in words: which rule took it
  std::string by{};
  WallClock at{};
};

// What a check of a bench found against what was expected.
struct BenchCheck {
  std::string bench{};
  std::string kind{};     // reference_unit, fixture_leak, flow_nozzle, receiver_volume, calibration
  std::string subject{};  // serial of the reference unit, nozzle, receiver, channel ...
  std::vector<MetricValue> measured{}, expected{};
  std::string outcome{};  // in_control, out_of_control ...
  std::string text{};
  std::string by{};
  WallClock at{};
};

// Somebody takes back what a person entered by mistake.  The entry stays where it is, sealed; from
// here on nothing counts it.
struct Withdrawal {
  Position withdrawn = 0;  // of the entry
  std::string why{};
  std::string by{};
  std::string second_by{};  // where the entry needed two people
  WallClock at{};
};

}  // namespace endgate::schema
