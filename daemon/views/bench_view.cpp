#include "daemon/views/bench_view.h"

#include <algorithm>
#include <cmath>

#include "analysis/say_number.h"
#include "daemon/definitions/number_range.h"
#include "daemon/line/enter_check.h"
#include "daemon/views/index_in.h"
#include "reports/number.h"

namespace endgate::daemon {
namespace {

constexpr std::size_t kChecksShown = 20;

std::string significant(double value, int digits = 6) {
  if (value == 0) return "0";
  const int whole = static_cast<int>(std::floor(std::log10(std::abs(value)))) + 1;
  return reports::fixed(value, std::clamp(digits - whole, 0, 12));
}

// Gain, and the offset in the unit that is shown; a temperature's offset is a difference.
std::string numbers_of(const analysis::ChannelCalibration& calibration, const ChannelWords& words) {
  return "× " + significant(calibration.gain) + ", " +
         reports::with_sign(calibration.offset_si * words.factor, 3) + reports::kNoBreak +
         words.unit;
}

reports::BenchChannelRow channel_row(const BenchSeen& seen, const ChannelDefinition& channel) {
  const CalibrationFacts& facts = seen.texts.calibration;
  const ChannelWords words = words_of(channel.facts.role);
  reports::BenchChannelRow row{.name = words.name,
                               .now = reading_now(seen.live, channel.facts.role),
                               .calibrated = "not stated",
                               .due = "no date stated",
                               .href = "/benches/" + address_part(seen.texts.bench.id) +
                                       "/calibrate?channel=" + address_part(channel.facts.id)};
  for (std::size_t i = 0; i < facts.channels.size(); ++i) {
    if (facts.channels[i].first != channel.facts.id) continue;
    const CalibrationNote& note = facts.channel_notes[i];
    row.numbers = numbers_of(facts.channels[i].second, words);
    if (!note.calibrated.empty()) row.calibrated = note.calibrated + ", " + note.by;
    if (!note.points.empty())
      row.calibrated += ", " + std::to_string(note.points.size()) + " points";
    if (!note.due.empty()) row.due = note.due;
    row.overdue = std::ranges::any_of(seen.notices, [&](const UpkeepNotice& notice) {
      return notice.code == "B-312" && notice.subject == channel.facts.id;
    });
    if (row.overdue) row.due += ", overdue";
  }
  return row;
}

std::string outcome_words(const std::string& outcome) {
  if (outcome == "in_control") return "in control";
  if (outcome == "out_of_control") return "out of control";
  if (outcome == kNotTaken) return "not taken";
  if (outcome == "learn_anew") return "learned anew";
  return outcome;
}

std::string check_name(const schema::BenchCheck& check) {
  std::string name = check.kind;
  if (check.kind == kReferenceUnit) name = "Reference unit";
  if (check.kind == "flow_nozzle") name = "Flow meter, nozzle";
  if (check.kind == "fixture_leak") name = "Leak of the fixture";
  if (check.kind == "receiver_volume") name = "Receiver volume";
  if (check.kind == kWearPart) name = "Part";
  return check.subject.empty() ? name : name + " " + check.subject;
}

// Share of what is allowed, per cent: the metric farthest out.  Nothing while it is being learned.
std::optional<double> worst_share(const schema::BenchCheck& check) {
  std::optional<double> worst;
  for (const schema::MetricValue& expected : check.expected) {
    const auto measured = std::ranges::find(check.measured, expected.id, &schema::MetricValue::id);
    if (measured == check.measured.end() || !measured->value || !expected.value) continue;
    if (expected.parts.empty() || expected.parts.front().u <= 0) continue;
    const double share = 100 * (*measured->value - *expected.value) / expected.parts.front().u;
    if (!worst || std::abs(share) > std::abs(*worst)) worst = share;
  }
  return worst;
}

std::string unit_name(const BenchDefinition& bench, const std::string& serial) {
  for (const ReferenceUnitDefinition& unit : bench.reference_units)
    if (unit.serial == serial) return unit.name;
  return serial;
}

void add_reference_chart(reports::BenchPage& page, const BenchSeen& seen) {
  reports::TrendChart& chart = page.reference;
  chart.unit = "Worst deviation, % of what is allowed";
  chart.place_title = "Reference test, in order";
  chart.lower = -100;
  chart.upper = 100;
  chart.lower_words = "out of control below";
  chart.upper_words = "out of control above";
  chart.height = 320;
  for (const KeptCheck& check : seen.kept.checks) {
    if (check.fact.kind != kReferenceUnit) continue;
    const auto share = worst_share(check.fact);
    if (!share) continue;
    const auto place = static_cast<double>(chart.spots.size());
    chart.spots.push_back(
        {.place = place,
         .bench = index_in(chart.benches, unit_name(seen.texts.bench, check.fact.subject)),
         .value = *share,
         .low = *share,
         .high = *share,
         .said = date_and_minute(check.fact.at.utc_ms) + ": " + check.fact.text,
         .href = "/units/" + address_part(check.fact.subject),
         .verdict = check.fact.outcome == "out_of_control" ? "fail" : ""});
    chart.names.push_back({place, date_and_minute(check.fact.at.utc_ms).substr(0, 10)});
  }
  chart.description = "Reference units of bench " + seen.texts.bench.id + ", " +
                      std::to_string(chart.spots.size()) + " checks";
  const KeptCheck* newest = newest_check(seen.kept.checks, kReferenceUnit);
  page.reference_words = newest == nullptr
                             ? "No check by a reference unit is kept for this bench."
                             : date_and_minute(newest->fact.at.utc_ms) + ": " + newest->fact.text;
}

void add_checks(reports::BenchPage& page, const BenchSeen& seen) {
  for (std::size_t i = seen.kept.checks.size(); i-- > 0;) {
    const schema::BenchCheck& check = seen.kept.checks[i].fact;
    if (page.checks.size() == kChecksShown) break;
    page.checks.push_back({.when = date_and_minute(check.at.utc_ms),
                           .what = check_name(check),
                           .found = check.text,
                           .outcome = outcome_words(check.outcome),
                           .by = check.by,
                           .position = std::to_string(seen.kept.checks[i].position)});
  }
  for (const UnitEvent& gone : seen.kept.withdrawn)
    page.checks.push_back(
        {.when = date_and_minute(gone.entry.utc_ms),
         .what = analysis::capitalised(gone.entry.what),
         .found = analysis::capitalised(withdrawn_words(gone)) + ". It said: " + gone.entry.words,
         .outcome = "withdrawn",
         .by = gone.entry.by,
         .position = std::to_string(gone.position)});
}

std::string due_words(double days) {
  constexpr double kFarAway = 3650;
  if (days > kFarAway) return "not within ten years at the rate of the last 30 days";
  return "in " + reports::fixed(std::max(0.0, days), 0) + " days at the rate of the last 30";
}

void add_parts(reports::BenchPage& page, const BenchSeen& seen) {
  for (const WearPart& part : seen.texts.bench.wear_parts) {
    const auto tests = seen.kept.tests_on_part.find(part.id);
    const std::int64_t used =
        tests == seen.kept.tests_on_part.end() ? 0 : tests->second * part.uses_per_test;
    const auto days = days_left(part, seen.kept);
    page.parts.push_back({.name = part.name,
                          .used = reports::fixed(static_cast<double>(used), 0) + " of " +
                                  reports::fixed(static_cast<double>(part.due_after_uses), 0),
                          .due = days ? due_words(*days) : "not used in the last 30 days"});
  }
}

void add_history(reports::BenchPage& page, const BenchSeen& seen) {
  for (std::size_t i = seen.calibrations.size(); i-- > 0;) {
    const schema::Definition& version = seen.calibrations[i];
    page.history.push_back({.version = std::to_string(version.version),
                            .when = date_and_minute(version.at.utc_ms),
                            .by = version.by,
                            .why = version.why});
  }
}

double half_band(const Recalibration& made, double reading_si) {
  const double y = made.fit.at(reading_si);
  return 2 * std::hypot(made.after.u_gain_rel * y, made.after.u_offset_si);
}

// What keeps it from judging comes first; a doubt that the policy lets pass is said all the same.
// Whether a model has what it needs here is not known on this page: nothing is promised.
std::string headline_of(const BenchSeen& seen) {
  const std::string no = "This bench judges no units just now";
  if (!seen.trouble.empty()) return no + ": " + seen.trouble;
  if (blocking(seen.notices) != nullptr) return no + ".";
  if (reference_in_doubt(seen.kept))
    return "Units are still tested here, but the newest reference test does not show that this "
           "bench reads right.";
  return "Nothing that is due keeps this bench from judging units.";
}

// `how` says of a check how it is entered.
template <class How>
std::vector<std::string> due_lines(const BenchSeen& seen, How how) {
  std::vector<std::string> lines;
  for (const UpkeepNotice& notice : seen.notices)
    lines.push_back(notice.sentence + " " + notice.code);
  for (const DueCheck& check : seen.texts.bench.due_checks)
    if (newest_check(seen.kept.checks, check.kind) == nullptr)
      lines.push_back("The check \u201C" + name_of_check(check.kind) + "\u201D was never made." +
                      how(check));
  return lines;
}

// A notice that begins with its text, or that opened it, says it already.
bool is_told(const BenchSeen& seen, const KeptAlarm& alarm) {
  return std::ranges::any_of(seen.notices, [&](const UpkeepNotice& notice) {
    return notice.sentence.starts_with(alarm.fact.text);
  });
}

// Dates are written so that the earliest is the least.
std::string valid_words(const BenchSeen& seen) {
  const CalibrationFacts& facts = seen.texts.calibration;
  std::string due, channel;
  for (std::size_t i = 0; i < facts.channels.size(); ++i) {
    const std::string& stated = facts.channel_notes.at(i).due;
    if (stated.empty() || (!due.empty() && stated >= due)) continue;
    due = stated;
    channel = facts.channels[i].first;
  }
  if (due.empty()) return "No calibration states until when it is valid.";
  for (const ChannelDefinition& each : seen.texts.bench.channels)
    if (each.facts.id == channel) channel = words_of(each.facts.role).name;
  return "Calibrations are valid until " + due + ", then the first is due: " + channel + ".";
}

}  // namespace

std::string reading_now(const BenchLive& live, analysis::Role role) {
  const ChannelWords words = words_of(role);
  for (const LiveValue& value : live.values)
    if (value.role == role && value.value_si)
      return reports::fixed(*value.value_si * words.factor + words.offset, value.decimals) +
             reports::kNoBreak + words.unit;
  return "no data";
}

std::vector<std::string> lines_of_bench(const BenchSeen& seen) {
  std::vector<std::string> lines = due_lines(seen, [](const DueCheck&) { return std::string(); });
  for (const KeptAlarm& alarm : seen.kept.alarms)
    if (!is_told(seen, alarm)) lines.push_back("Open alarm: " + alarm.fact.text);
  const KeptCheck* newest = newest_check(seen.kept.checks, kReferenceUnit);
  if (newest != nullptr)
    lines.push_back("Last reference test, " + date_and_minute(newest->fact.at.utc_ms) + ": " +
                    newest->fact.text);
  lines.push_back(valid_words(seen));
  return lines;
}

reports::BenchPage bench_page_of(const BenchSeen& seen) {
  reports::BenchPage page;
  page.heading = seen.texts.bench.name;
  page.sentence = headline_of(seen);
  page.due = due_lines(seen, [&](const DueCheck& check) {
    return " Enter it: endgate check-bench " + seen.texts.bench.id + " " + check.kind + " " +
           readings_to_type(check.kind) + " --subject ... --by ...";
  });
  for (const ChannelDefinition& channel : seen.texts.bench.channels)
    page.channels.push_back(channel_row(seen, channel));
  add_reference_chart(page, seen);
  add_checks(page, seen);
  add_parts(page, seen);
  add_history(page, seen);
  return page;
}

reports::CalibratePage calibrate_page_of(const BenchTexts& texts, const std::string& channel,
                                         const BenchLive& live) {
  reports::CalibratePage page{.bench = texts.bench.id, .channel = channel};
  page.version = std::to_string(texts.calibration_version);
  for (const ChannelDefinition& each : texts.bench.channels) {
    const bool chosen = each.facts.id == channel;
    const ChannelWords words = words_of(each.facts.role);
    page.channels.push_back({words.name,
                             "/benches/" + address_part(texts.bench.id) +
                                 "/calibrate?channel=" + address_part(each.facts.id),
                             chosen});
    if (!chosen) continue;
    page.channel_name = words.name;
    page.unit = words.unit;
    page.now = reading_now(live, each.facts.role);
  }
  return page;
}

void show_fit(reports::CalibratePage& page, const Recalibration& made, const ChannelWords& words) {
  page.fitted = true;
  const auto shown = [&](double si) { return si * words.factor + words.offset; };
  const auto size = [&](double si) { return si * words.factor; };
  page.sentence = std::to_string(made.note.points.size()) + " points scatter by " +
                  significant(size(made.fit.scatter_si), 3) + " " + words.unit +
                  " about the line. Square: residual, whisker: ± twice the u of the reference, "
                  "band: ± twice the u as it will be accepted.";
  page.chart = {.description = page.sentence,
                .reading_title = std::string("Reading before calibration, ") + words.unit,
                .residual_title = std::string("Reference minus line, ") + words.unit};
  for (std::size_t i = 0; i < made.note.points.size(); ++i) {
    const analysis::CalibrationPoint& point = made.note.points[i];
    page.chart.spots.push_back(
        {shown(point.reading_si), size(made.fit.residuals_si[i]), 2 * size(point.u_reference_si)});
    page.residuals.push_back({significant(shown(point.reading_si)),
                              significant(shown(point.reference_si)),
                              significant(size(made.fit.residuals_si[i]), 3)});
  }
  constexpr int kSteps = 40;
  for (int i = 0; i <= kSteps; ++i) {
    const double reading =
        made.fit.reading_min_si + (made.fit.reading_max_si - made.fit.reading_min_si) * i / kSteps;
    page.chart.band.push_back({shown(reading), size(half_band(made, reading))});
  }
  const auto row = [&](const char* name, double before, double after) {
    return std::vector<std::string>{name, significant(before), significant(after)};
  };
  page.old_and_new = {
      row("Gain", made.before.gain, made.after.gain),
      row("Offset", size(made.before.offset_si), size(made.after.offset_si)),
      row("Standard u of the gain, %", 100 * made.before.u_gain_rel, 100 * made.after.u_gain_rel),
      row("Standard u of the offset", size(made.before.u_offset_si), size(made.after.u_offset_si)),
      {"Valid until", made.note_before.due.empty() ? "not stated" : made.note_before.due,
       made.note.due}};
}

std::vector<reports::AlarmRow> alarm_rows(const std::vector<KeptAlarm>& open,
                                          const std::vector<std::int64_t>& since_utc_ms) {
  std::vector<reports::AlarmRow> rows;
  for (std::size_t i = 0; i < open.size(); ++i)
    rows.push_back({.number = std::to_string(opened_by(open[i])),
                    .bench = open[i].fact.bench,
                    .text = open[i].fact.text,
                    .since = date_and_minute(since_utc_ms[i]),
                    .kind = name_of_check(open[i].fact.code),
                    .owner = open[i].fact.owner});
  std::ranges::stable_sort(rows, {}, [](const auto& row) { return !row.owner.empty(); });
  return rows;
}

}  // namespace endgate::daemon
