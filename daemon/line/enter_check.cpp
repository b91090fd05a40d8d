#include "daemon/line/enter_check.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <functional>
#include <optional>
#include <sstream>
#include <vector>

#include "analysis/bench_check.h"
#include "analysis/say_number.h"
#include "daemon/line/bench_texts.h"
#include "daemon/line/upkeep_facts.h"
#include "daemon/line/upkeep_policy.h"
#include "daemon/line/wall_clock.h"
#include "daemon/queries/bench_checks.h"

namespace endgate::daemon {
namespace {

constexpr analysis::DryReference kLeakReference{.pressure_abs_pa = 100000, .temperature_k = 293.15};

CommandRefusal no(std::string sentence) {
  return {422, "U-230", std::move(sentence) + " Nothing was kept."};
}

std::optional<double> number_of(const std::string& text) {
  double value = 0;
  const char* const end = text.data() + text.size();
  const auto read = std::from_chars(text.data(), end, value);
  if (read.ec != std::errc() || read.ptr != end || !std::isfinite(value)) return std::nullopt;
  return value;
}

// The readings by name; remembers what is missing, wrong or left over.
class Readings {
 public:
  explicit Readings(const std::string& text) {
    std::istringstream in(text);
    for (std::string each; in >> each;) {
      const std::size_t sign = each.find('=');
      const auto value =
          sign == std::string::npos ? std::nullopt : number_of(each.substr(sign + 1));
      if (!value)
        wrong_ = "\"" + each + "\" is not NAME=NUMBER.";
      else
        values_[each.substr(0, sign)] = *value;
    }
  }
  double need(const std::string& name) {
    const auto value = take(name);
    if (!value) missing_ += (missing_.empty() ? "" : ", ") + name;
    return value.value_or(0);
  }
  std::optional<double> take(const std::string& name) {
    const auto found = values_.find(name);
    if (found == values_.end()) return std::nullopt;
    const double value = found->second;
    values_.erase(found);
    return value;
  }
  [[nodiscard]] std::string wrong() const {
    if (!wrong_.empty()) return wrong_;
    if (!values_.empty())
      return "There is no reading " + values_.begin()->first + " in this check.";
    return missing_.empty() ? "" : "Missing: " + missing_ + ".";
  }

 private:
  std::map<std::string, double> values_;
  std::string wrong_, missing_;
};

schema::MetricValue number(const std::string& id, double value, double u) {
  schema::MetricValue stored;
  stored.id = id;
  stored.value = value;
  stored.u = u;
  return stored;
}

std::string said(double value, double u, double factor, const std::string& unit) {
  const int places = analysis::places_for(2 * factor * u, 3);
  return analysis::say_number(factor * value, places) + " ± " +
         analysis::say_number(2 * factor * u, places) + " " + unit;
}

struct Quantity {
  const char* id;
  const char* name;
  double factor;
  const char* unit;
};

schema::BenchCheck kept(const CheckEntry& entry, const analysis::CheckResult& result,
                        const Quantity& quantity) {
  schema::BenchCheck check{.bench = entry.bench, .kind = entry.kind, .subject = entry.subject};
  check.measured = {number(quantity.id, result.measured, result.u_measured)};
  check.expected = {number(quantity.id, result.expected, result.u_expected)};
  check.expected.front().parts = {{"allowed difference", result.allowed}};
  check.outcome = result.in_control ? "in_control" : "out_of_control";
  check.text = std::string(quantity.name) + " of bench " + entry.bench + ": found " +
               said(result.measured, result.u_measured, quantity.factor, quantity.unit) +
               ", expected " +
               said(result.expected, result.u_expected, quantity.factor, quantity.unit) + ".";
  check.by = entry.by;
  check.at = wall_clock_now();
  return check;
}

using Answer = std::variant<schema::BenchCheck, CommandRefusal>;

Answer answer(const CheckEntry& entry, Readings& readings,
              const analysis::Outcome<analysis::CheckResult>& result, const Quantity& quantity) {
  if (const std::string wrong = readings.wrong(); !wrong.empty()) return no(wrong);
  if (!result) return no("The readings do not allow an answer: " + result.error().detail + ".");
  return kept(entry, *result, quantity);
}

std::optional<double> flow_u_rel(const BenchDefinition& bench,
                                 const CalibrationFacts& calibration) {
  for (const ChannelDefinition& channel : bench.channels)
    if (channel.facts.role == analysis::Role::flow)
      for (const auto& [id, known] : calibration.channels)
        if (id == channel.facts.id) return known.u_gain_rel;
  return std::nullopt;
}

Answer nozzle_check(const CheckEntry& entry, const BenchDefinition& bench,
                    const CalibrationFacts& calibration) {
  const std::optional<double> u_flow_rel = flow_u_rel(bench, calibration);
  if (!u_flow_rel) return no("The flow channel of bench " + bench.id + " has no calibration.");
  Readings in(entry.readings);
  analysis::NozzleReading nozzle;
  nozzle.throat_diameter_m = in.need("throat_diameter_m");
  nozzle.upstream_abs_pa = in.need("upstream_abs_pa");
  nozzle.downstream_abs_pa = in.need("downstream_abs_pa");
  nozzle.upstream_k = in.need("upstream_k");
  nozzle.effective_area_m2 = in.take("effective_area_m2");
  nozzle.u_area_rel = in.need("u_area_rel");
  nozzle.u_upstream_pa = in.need("u_upstream_pa");
  nozzle.u_upstream_k = in.need("u_upstream_k");
  nozzle.humidity_ratio = in.need("humidity_ratio");
  const analysis::MeterReading meter{
      .flow = analysis::StandardFlow(in.need("flow_m3_s")),
      .u_flow_rel = *u_flow_rel,
      .reference = {.pressure_abs_pa = bench.meter_reference_pressure_pa,
                    .temperature_k = bench.meter_reference_temperature_k}};
  return answer(entry, in, analysis::check_meter(nozzle, meter),
                {"flow_m3_s", "Flow meter", 60000, "L/min"});
}

const analysis::Receiver* receiver_of(const CalibrationFacts& calibration,
                                      const std::string& name) {
  const auto found = std::ranges::find(calibration.receivers, name, &analysis::Receiver::name);
  return found == calibration.receivers.end() ? nullptr : &*found;
}

// What the subject of a check could be.
template <class List, class Name>
CommandRefusal no_such(const CheckEntry& entry, const std::string& what, const List& list,
                       Name name) {
  std::string known;
  for (const auto& each : list) known += (known.empty() ? "" : ", ") + std::invoke(name, each);
  return no("Bench " + entry.bench + " has no " + what + " \"" + entry.subject +
            "\"; name one as the subject: " + (known.empty() ? "it has none" : known) + ".");
}

Answer leak_check(const CheckEntry& entry, const CalibrationFacts& calibration) {
  const analysis::Receiver* receiver = receiver_of(calibration, entry.subject);
  if (receiver == nullptr)
    return no_such(entry, "receiver", calibration.receivers, &analysis::Receiver::name);
  Readings in(entry.readings);
  const analysis::LeakDwell dwell{.volume_m3 = receiver->volume_m3,
                                  .u_volume_rel = receiver->u_volume_rel,
                                  .start_abs_pa = in.need("start_abs_pa"),
                                  .end_abs_pa = in.need("end_abs_pa"),
                                  .u_pressure_pa = in.need("u_pressure_pa"),
                                  .start_k = in.need("start_k"),
                                  .end_k = in.need("end_k"),
                                  .u_temperature_k = in.need("u_temperature_k"),
                                  .seconds = in.need("seconds")};
  const analysis::StatedLeak stated{calibration.fixture_back_leak_m3_s,
                                    calibration.u_fixture_back_leak_m3_s};
  return answer(entry, in, analysis::check_leak(dwell, stated, kLeakReference),
                {"leak_m3_s", "Leak of the fixture", 6e7, "cm3/min"});
}

Answer volume_check(const CheckEntry& entry, const CalibrationFacts& calibration) {
  const analysis::Receiver* receiver = receiver_of(calibration, entry.subject);
  if (receiver == nullptr)
    return no_such(entry, "receiver", calibration.receivers, &analysis::Receiver::name);
  Readings in(entry.readings);
  const analysis::Expansion expansion{.reference_volume_m3 = in.need("reference_volume_m3"),
                                      .u_reference_rel = in.need("u_reference_rel"),
                                      .reference_abs_pa = in.need("reference_abs_pa"),
                                      .receiver_abs_pa = in.need("receiver_abs_pa"),
                                      .final_abs_pa = in.need("final_abs_pa"),
                                      .u_pressure_pa = in.need("u_pressure_pa")};
  return answer(entry, in,
                analysis::check_volume(expansion, {receiver->volume_m3, receiver->u_volume_rel}),
                {"volume_m3", "Volume of the receiver", 1000, "L"});
}

// "Outlet coupling", "outlet_coupling" and "OUTLET COUPLING" are one.
std::string folded_name(std::string text) {
  for (char& c : text) {
    if (c >= 'A' && c <= 'Z') c = static_cast<char>(c - 'A' + 'a');
    if (c == '_' || c == '-') c = ' ';
  }
  return text;
}

bool is_called(const std::string& asked, const std::string& id, const std::string& name) {
  return !asked.empty() &&
         (folded_name(asked) == folded_name(id) || folded_name(asked) == folded_name(name));
}

schema::BenchCheck decided(const CheckEntry& entry, const std::string& kind,
                           const std::string& outcome, const std::string& text) {
  schema::BenchCheck check{.bench = entry.bench, .kind = kind, .subject = entry.subject};
  check.outcome = outcome;
  check.text = text;
  check.by = entry.by;
  check.at = wall_clock_now();
  return check;
}

Answer part_replaced(CheckEntry entry, const BenchDefinition& bench) {
  const auto part = std::ranges::find_if(bench.wear_parts, [&](const WearPart& each) {
    return is_called(entry.subject, each.id, each.name);
  });
  if (part == bench.wear_parts.end())
    return no_such(entry, "wear part", bench.wear_parts, &WearPart::name);
  entry.subject = part->id;
  return decided(entry, kWearPart, kReplaced, part->name + " was replaced.");
}

Answer learn_anew(CheckEntry entry, const BenchDefinition& bench) {
  const auto unit =
      std::ranges::find_if(bench.reference_units, [&](const ReferenceUnitDefinition& each) {
        return is_called(entry.subject, each.serial, each.name);
      });
  if (unit == bench.reference_units.end())
    return no_such(entry, "reference unit", bench.reference_units, &ReferenceUnitDefinition::name);
  entry.subject = unit->serial;
  return decided(entry, kReferenceUnit, kLearnAnew,
                 "Reference unit " + unit->name + " is learned anew from its next tests on.");
}

}  // namespace

std::string readings_to_type(const std::string& kind) {
  if (kind == "flow_nozzle")
    return "throat_diameter_m=... upstream_abs_pa=... downstream_abs_pa=... upstream_k=... "
           "u_area_rel=... u_upstream_pa=... u_upstream_k=... humidity_ratio=... flow_m3_s=...";
  if (kind == "fixture_leak")
    return "start_abs_pa=... end_abs_pa=... u_pressure_pa=... start_k=... end_k=... "
           "u_temperature_k=... seconds=...";
  if (kind == "receiver_volume")
    return "reference_volume_m3=... u_reference_rel=... reference_abs_pa=... receiver_abs_pa=... "
           "final_abs_pa=... u_pressure_pa=...";
  return "";
}

Answer check_of(const CheckEntry& asked, const BenchDefinition& bench,
                const CalibrationFacts& calibration) {
  CheckEntry entry = asked;
  std::ranges::replace(entry.kind, ' ', '_');
  if (entry.by.empty()) return no("Say who made the check.");
  if (entry.kind == "flow_nozzle") return nozzle_check(entry, bench, calibration);
  if (entry.kind == "fixture_leak") return leak_check(entry, calibration);
  if (entry.kind == "receiver_volume") return volume_check(entry, calibration);
  if (entry.kind == kWearPart) return part_replaced(entry, bench);
  if (entry.kind == kLearnAnew) return learn_anew(entry, bench);
  return no("There is no check \"" + entry.kind +
            "\"; there are flow_nozzle, fixture_leak, receiver_volume, wear_part, learn_anew.");
}

// What is to be told of the alarm that a check out of control opens.  The check is kept by then.
std::string alarm_of(schema::StoreWriter& writer, const std::string& store_folder,
                     const schema::BenchCheck& check) {
  if (check.outcome != "out_of_control") return "";
  try {
    open_alarm(writer, store_folder, check.bench, kAlarmCheckOut, check.text);
    return "";
  } catch (const schema::StoreFault& fault) {
    return std::string(". Its alarm could not be kept: ") + fault.what() + " Tell plant IT.";
  }
}

Application::Entered enter_check(schema::StoreWriter& writer, const std::string& store_folder,
                                 const CheckEntry& entry) {
  auto texts = bench_texts(schema::StoreReader(store_folder), entry.bench);
  if (auto* refusal = std::get_if<CommandRefusal>(&texts)) return std::move(*refusal);
  const auto& known = std::get<BenchTexts>(texts);
  const Answer made = check_of(entry, known.bench, known.calibration);
  if (const auto* refusal = std::get_if<CommandRefusal>(&made)) return *refusal;
  const auto& check = std::get<schema::BenchCheck>(made);
  const schema::Position position = writer.append(check);
  return Application::Accepted{check.outcome + ": " + check.text + " (position " +
                               std::to_string(position) + ")" +
                               alarm_of(writer, store_folder, check)};
}

Application::Entered enter_alarm_step(schema::StoreWriter& writer, const std::string& store_folder,
                                      const AlarmStep& step) {
  for (const KeptAlarm& open : schema::StoreReader(store_folder).open_alarms()) {
    if (opened_by(open) != step.opened) continue;
    const auto next = next_of(step, open.fact);
    if (const auto* refusal = std::get_if<CommandRefusal>(&next)) return *refusal;
    const schema::Position position = writer.append(std::get<schema::Alarm>(next));
    const std::string& before = open.fact.owner;
    const bool taken = step.state == "owned" && !before.empty() && before != step.by;
    return Application::Accepted{"alarm " + std::to_string(step.opened) + " " + step.state +
                                 (taken ? ", taken over from " + before : "") + " (position " +
                                 std::to_string(position) + ")"};
  }
  return CommandRefusal{404, "U-232",
                        "No alarm " + std::to_string(step.opened) + " is open. Nothing was kept."};
}

std::variant<schema::Alarm, CommandRefusal> next_of(const AlarmStep& step,
                                                    const schema::Alarm& newest) {
  if (step.by.empty()) return no("Say who answers the alarm.");
  if (step.state != "owned" && step.state != "closed")
    return no("An alarm is taken (owned) or closed, not \"" + step.state + "\".");
  if (step.state == "closed" && (step.cause.empty() || step.action.empty()))
    return no("An alarm is closed with its cause and what was done.");
  schema::Alarm next = newest;
  next.opened = step.opened;
  next.state = step.state;
  if (step.state == "owned") next.owner = step.by;
  next.cause = step.cause;
  next.action = step.action;
  next.by = step.by;
  next.at = wall_clock_now();
  return next;
}

}  // namespace endgate::daemon
