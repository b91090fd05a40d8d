#include "daemon/views/line_words.h"

#include <algorithm>
#include <array>
#include <cmath>

#include "analysis/say_number.h"
#include "daemon/queries/more_limits.h"
#include "daemon/views/shown.h"
#include "reports/duration.h"

namespace endgate::daemon {
namespace {

using reports::LineView;

struct PhaseWords {
  const char* look;
  const char* word;
  const char* sound;
};

PhaseWords phase_words(LinePhase phase) {
  static constexpr std::array<PhaseWords, 9> kWords{{{"free", "FREE", ""},
                                                     {"ready", "READY", ""},
                                                     {"again", "AGAIN?", "attention"},
                                                     {"refused", "REFUSED", "attention"},
                                                     {"running", "RUNNING", ""},
                                                     {"storing", "STORING", ""},
                                                     {"void", "VOID", "void"},
                                                     {"out-of-use", "OUT OF USE", "attention"},
                                                     {"press-stop", "PRESS STOP", "alarm"}}};
  return kWords[static_cast<std::size_t>(phase)];
}

std::string small_first(std::string words) {
  if (!words.empty())
    words[0] = static_cast<char>(std::tolower(static_cast<unsigned char>(words[0])));
  return words;
}

PhaseWords verdict_words(const std::string& verdict) {
  if (verdict == "pass") return {"pass", "PASS", "pass"};
  if (verdict == "fail") return {"fail", "FAIL", "fail"};
  if (verdict == "undecided") return {"undecided", "UNDECIDED", "undecided"};
  return {"void", "VOID", "void"};
}

bool is_being_made_safe(const LineState& line) {
  return line.phase == LinePhase::running && line.live.making_safe;
}

PhaseWords words_for(const LineState& line) {
  if (not_heard(line)) return {"no-contact", "NO CONTACT", "alarm"};
  if (bench_is_locked(line)) return phase_words(LinePhase::out_of_use);
  if (is_being_made_safe(line)) return {"running", "STOPPING", ""};
  if (line.phase != LinePhase::verdict || !line.result) return phase_words(line.phase);
  return verdict_words(line.result->verdict);
}

void act(LineView& view, std::string next, std::string note = "") {
  view.act = true;
  view.next_caption = "Next";
  view.next = std::move(next);
  view.note = std::move(note);
}

void nothing_to_do(LineView& view, std::string next, std::string note = "") {
  view.act = false;
  view.next_caption = "Nothing to do";
  view.next = std::move(next);
  view.note = std::move(note);
}

// Between tests the bench says by itself what is missing.  B-203 and B-205 pass without a person.
bool bench_away(const LineState& line) {
  const std::string& code = line.live.condition_code;
  return line.live.condition == BenchCondition::connecting && !line.live.condition_text.empty() &&
         code != "B-203" && code != "B-205";
}

const char* next_unit(const LineState& line) {
  return bench_away(line) ? "Call maintenance." : "Scan the next one.";
}

void free_words(LineView& view, const LineState& line) {
  act(view, "Scan the serial of the unit on the bench.");
  if (!line.last_unit.empty()) view.sentence = "Last unit: " + line.last_unit;
}

void ready_words(LineView& view, const LineState& line) {
  const std::optional<bool>& closed = line.live.interlocks.cover_closed;
  act(view, closed.value_or(false) ? "Press Start (Enter) or scan Start."
                                   : "Close the cover. Press Start (Enter) or scan Start.");
  view.sentence = "Model " + line.model + ", about " + reports::duration_text(line.expected_s);
  if (!line.earlier.empty()) view.paragraphs.push_back(line.earlier);
  view.paragraphs.push_back("Cancel: Esc, or scan another serial.");
  if (!line.message.empty()) view.paragraphs.insert(view.paragraphs.begin(), line.message);
}

void again_words(LineView& view, const LineState& line) {
  act(view, "Choose a reason, then press Start (Enter). Or scan the next serial.");
  view.sentence = line.earlier.empty() ? line.message : line.earlier;
  view.paragraphs.push_back("A new attempt never hides an earlier one.");
}

std::string code_words(const LineState& line) {
  return line.code.empty() ? "" : "Code " + line.code;
}

void refused_words(LineView& view, const LineState& line) {
  const bool locked = bench_is_locked(line);
  act(view, locked ? "Call maintenance." : "Scan the serial on the rating plate.",
      code_words(line));
  view.sentence = line.message;
  if (locked)
    view.paragraphs.push_back(line.serial +
                              " was not tested. Scan it again once this is put right. A reference "
                              "unit may be tested all the while.");
}

std::string step_words(const LineState& line) {
  if (!line.live.step || line.live.step->index >= line.rail.size()) return "The test runs";
  const RailStep& step = line.rail[line.live.step->index];
  const std::string what = step.id.starts_with("hold_") ? "Holding at " + step.name : step.name;
  return what + ", step " + std::to_string(line.live.step->index + 1) + " of " +
         std::to_string(line.rail.size());
}

bool is_held_against(const CurveSoFar& point, const LimitBandPoint& band) {
  return std::abs(band.gauge_pa - point.gauge_pa) <= 20000 && (band.lower_m3_s || band.upper_m3_s);
}

// What the corrections of the evaluation may still move, as a share of what is shown.  Gas that cools
// in the receiver takes in what the meter does not see, the more the higher the pressure: on the
// simulated benches the result lay up to 1 % above what is shown so far at 0 kPa, 13 % at 800 kPa for
// the smallest model (80 units), and never 2 % below.
constexpr double kMayRise = 0.02;
constexpr double kMayRisePerPa = 0.15 / 800e3;
constexpr double kMayFall = 0.02;

enum class SoFar { inside, close, below, above };

SoFar held_against(const LimitBandPoint& band, double flow_m3_s) {
  const double most = (1 + kMayRise + kMayRisePerPa * band.gauge_pa) * flow_m3_s;
  const double least = (1 - kMayFall) * flow_m3_s;
  if (band.lower_m3_s && most < *band.lower_m3_s) return SoFar::below;
  if (band.upper_m3_s && least > *band.upper_m3_s) return SoFar::above;
  const bool may_be_below = band.lower_m3_s && least < *band.lower_m3_s;
  const bool may_be_above = band.upper_m3_s && most > *band.upper_m3_s;
  return may_be_below || may_be_above ? SoFar::close : SoFar::inside;
}

// Uncorrected means of the delivery alone.  The worst is told; so near a limit that the correction
// may decide, no side is.
std::string so_far_words(const LineState& line) {
  constexpr std::array kWords{"", "Close to", "Below", "Above"};
  std::size_t held = 0;
  SoFar worst = SoFar::inside;
  double at_pa = 0;
  for (const CurveSoFar& point : line.so_far)
    for (const LimitBandPoint& band : line.band) {
      if (!is_held_against(point, band)) continue;
      ++held;
      const SoFar found = held_against(band, point.flow_m3_s);
      if (found <= worst) continue;
      worst = found;
      at_pa = band.gauge_pa;
    }
  if (held == 0) return "The curve grows with each pressure";
  if (worst != SoFar::inside)
    return std::string(kWords[static_cast<std::size_t>(worst)]) + " its limit at " +
           reports::fixed(at_pa / 1000, 0) + reports::kNoBreak + "kPa; the test goes on";
  return "Delivery so far inside its limits at " + std::to_string(held) +
         (held == 1 ? " pressure" : " pressures");
}

// The daemon has sent motor off and opens the link again; what the motor does, nobody here knows.
void not_heard_words(LineView& view, const LineState& line) {
  act(view, "Press the stop button on the bench now.",
      "Nothing is heard of the bench, not even whether its motor is off.");
  view.sentence = "No contact with bench " + bench_name(line);
  view.paragraphs.push_back("The test of " + line.serial +
                            " is broken off and ends as void. Motor off was sent.");
}

void making_safe_words(LineView& view) {
  nothing_to_do(view, "Motor off was sent, the unit is being vented. Do not touch it yet.");
  view.sentence = "The test is ended and the bench made safe";
}

void running_words(LineView& view, const LineState& line) {
  view.why_caption = "Now";
  if (not_heard(line)) return not_heard_words(view, line);
  if (is_being_made_safe(line)) return making_safe_words(view);
  nothing_to_do(view, step_words(line));
  // A lab trial says where it is, and as long as it is true that a rest is no end.
  view.sentence = line.message.empty() ? so_far_words(line) : line.message;
  if (is_trial(line) && line.live.step && line.live.step->motor_will_run)
    view.paragraphs.push_back(
        "The motor may start again by itself. Stay clear until the trial is over.");
  if (line.ignored_scan.empty()) return;
  view.paragraphs.push_back("Scan ignored: " + line.ignored_scan +
                            ". The running test was not touched. Scan " + line.ignored_scan +
                            " again when it has ended.");
}

void storing_words(LineView& view, const LineState&) {
  view.why_caption = "Now";
  nothing_to_do(view, "Keeping the record. The verdict follows.");
}

void out_of_use_words(LineView& view, const LineState& line) {
  const bool storage = line.code.starts_with("S-");
  act(view, storage ? "Call plant IT." : "Call maintenance.", code_words(line));
  view.sentence = line.message.empty() ? line.live.condition_text : line.message;
  view.paragraphs.push_back("Bench " + bench_name(line) +
                            " judges nothing until this is put right." +
                            (storage ? " Earlier records are safe and readable." : ""));
}

void press_stop_words(LineView& view, const LineState& line) {
  act(view, "Press the stop button on the bench now.", code_words(line));
  view.sentence = "Motor state unknown";
  view.paragraphs.push_back(line.message.empty() ? line.live.condition_text : line.message);
  view.paragraphs.push_back("This stays until a person clears it.");
}

// Verdicts

bool is_limit_reason(const std::string& code) {
  return code == "below_lower" || code == "above_upper" || code == "too_near_limit";
}

std::string short_of_limit(const HeldLimit& limit, const Margin& margin) {
  const std::string unit = metric_unit(limit.metric);
  const reports::WrittenReading written = written_value(limit);
  const std::string gap =
      reports::fixed(shown_size(limit.metric, std::abs(margin.size)), written.decimals);
  return metric_name_short(limit.metric) + " is " + gap + reports::kNoBreak + unit +
         (margin.to_lower ? " below its limit" : " above its limit");
}

// The deciding limit in one short sentence; the reason's own words when no limit decided.
std::string deciding_sentence(const LineResult& result) {
  if (result.reasons.empty()) return result.sentence;
  const analysis::Reason& reason = result.reasons.front();
  if (!is_limit_reason(reason.code)) return reason.sentence;
  for (const HeldLimit& limit : held_limits(result.limits, result.metrics)) {
    const auto margin = margin_of(limit);
    if (limit.metric != reason.subject || !margin) continue;
    if (margin->size < 0 && reason.code != "too_near_limit")
      return short_of_limit(limit, *margin) + and_more_limits(result.reasons);
    if (reason.code == "too_near_limit")
      return metric_name_short(limit.metric) + " is too near its limit to say";
  }
  return reason.sentence;
}

std::string lower_name(const std::string& metric) { return small_first(metric_name_short(metric)); }

// Limits that only warn are told of by themselves.
std::string all_held(const LineResult& result) {
  const auto judging = std::ranges::count(result.limits, false, &analysis::LimitOutcome::warn);
  std::string words = "All " + std::to_string(judging) + " limits held";
  const auto closest = std::ranges::find(result.limits, false, &analysis::LimitOutcome::warn);
  if (closest != result.limits.end()) words += ". Closest: " + lower_name(closest->metric);
  for (const analysis::LimitOutcome& limit : result.limits)
    if (limit.warn && limit.verdict != analysis::Verdict::pass)
      words += ". Warning: " + lower_name(limit.metric);
  return words;
}

bool bench_is_suspect(const std::string& code) {
  return code.starts_with("channel_") || code == "trip_bench" || code == "broken_off_silence" ||
         code == "broken_off_lost_link" || code == "broken_off_clock_sick" ||
         code == "broken_off_lease_lost" || code == "broken_off_actuator_refused";
}

// What is put right already is not asked for any more.
std::string after_void(const std::string& code, const LineState& line) {
  const bool suspect = !line.result->would_have_been.empty();
  const Interlocks& now = line.live.interlocks;
  if (bench_is_suspect(code) || bench_away(line))
    return "Call maintenance. Leave the unit on the bench.";
  if (code == "broken_off_cover_open" && !now.cover_closed.value_or(false))
    return "Close the cover. Scan the serial again.";
  if (code == "broken_off_emergency_stop" && !now.emergency_stop_clear.value_or(false))
    return "Release the stop button. Scan the serial again.";
  if (code == "broken_off_daemon_restarted" || code == "broken_off_ended_by_service")
    return "Check the hoses. Scan the serial again.";
  return suspect ? "Scan the serial again: this unit is not judged yet."
                 : "Scan the serial again, or scan another one.";
}

// One plain line below the reason; its evidence stands on the unit's page.
void cause_words(LineView& view, const LineResult& result) {
  if (result.causes.empty()) return;
  const analysis::LikelyCause& cause = result.causes.front();
  view.paragraphs.push_back("Likely cause: " + cause.name + ", " +
                            analysis::say_probability(cause.probability) + ".");
}

// What decided this test stands above already.
std::string standing_reason(const LineResult& result) {
  const std::string& reason = result.standing_reason;
  const std::string said = result.reasons.empty() ? "" : ": " + result.reasons.front().sentence;
  if (said.empty() || !reason.ends_with(said)) return reason;
  return reason.substr(0, reason.size() - said.size()) + ".";
}

// A reference unit ships nowhere.
void standing_words(LineView& view, const LineState& line) {
  const LineResult& result = *line.result;
  if (is_reference(line)) return;
  if (!result.standing.empty()) view.standing = "Standing: " + result.standing;
  if (!result.standing_reason.empty() && result.standing != "release")
    view.paragraphs.push_back("Standing " + result.standing + ": " + standing_reason(result));
}

// A void for a sick channel comes after a whole test; one that was stopped before it began has none.
std::string samples_words(const LineResult& result, const std::string& code) {
  if (!result.kept_samples) return "No sample was taken.";
  const bool broken_off = code.starts_with("broken_off_") || code.starts_with("trip_");
  return broken_off ? "The samples up to then are kept." : "Its samples are kept.";
}

void void_words(LineView& view, const LineState& line) {
  const LineResult& result = *line.result;
  const std::string code = result.reasons.empty() ? "" : result.reasons.front().code;
  act(view, after_void(code, line));
  view.sentence = result.sentence;
  std::string rest = samples_words(result, code);
  if (line.live.interlocks.motor_relay_closed == std::optional(false))
    rest = "The motor is off, read back. " + rest;
  // A stop is no way past a bad unit.
  if (!result.would_have_been.empty())
    view.paragraphs.push_back("What was completed " + result.would_have_been + ".");
  view.paragraphs.push_back(rest);
  cause_words(view, result);
  standing_words(view, line);
}

void verdict_next(LineView& view, const LineState& line) {
  const std::string& verdict = line.result->verdict;
  const std::string then = std::string(" ") + next_unit(line);
  if (line.purpose == "returned")
    act(view, "Put the unit aside for the warranty desk." + then);
  else if (verdict == "pass")
    act(view, "Take the unit off." + then);
  else if (verdict == "fail")
    act(view, "Put the unit into the reject bay." + then);
  else
    act(view, bench_away(line) ? "Put the unit aside." + then
                               : "Put the unit aside, or scan it again to repeat the test.");
}

// What the bench reads is the result; the limits of the model stand beside it.
void reference_words(LineView& view, const LineState& line) {
  const LineResult& result = *line.result;
  const bool failed = result.verdict == "fail" && result.check_outcome != "in_control";
  act(view, failed || result.check_outcome == "out_of_control"
                ? "Keep the reference unit. Call maintenance."
                : std::string("Take the reference unit off and keep it. ") + next_unit(line));
  const std::string held = result.verdict == "pass" ? all_held(result) : deciding_sentence(result);
  view.sentence = result.check_sentence.empty() ? held : result.check_sentence;
  if (!result.check_sentence.empty() && !held.empty())
    view.paragraphs.push_back(held + (held.ends_with('.') ? "" : "."));
  cause_words(view, result);
}

void verdict_words(LineView& view, const LineState& line) {
  if (!line.result) return out_of_use_words(view, line);
  const LineResult& result = *line.result;
  if (result.verdict == "void") return void_words(view, line);
  if (is_reference(line)) return reference_words(view, line);
  verdict_next(view, line);
  if (is_trial(line)) act(view, "Take the unit off. Its page tells the result of the trial.");
  view.sentence = result.verdict == "pass" ? all_held(result) : deciding_sentence(result);
  cause_words(view, result);
  standing_words(view, line);
}

// Whatever else the page shows: a bench that cannot test says so.
void add_what_is_missing(LineView& view, const LineState& line) {
  const bool said = line.phase == LinePhase::out_of_use || line.phase == LinePhase::press_stop;
  if (!bench_away(line) || said || line.phase == LinePhase::running) return;
  const bool no_verdict = line.phase != LinePhase::verdict && line.phase != LinePhase::storing;
  if (no_verdict) act(view, "Call maintenance.");
  view.note = "The bench cannot test now. " + line.live.condition_code;
  view.paragraphs.insert(view.paragraphs.begin(), line.live.condition_text);
}

// What is due on the bench; what refuses stands above already.
void add_notices(LineView& view, const LineState& line) {
  const bool before_start = line.phase == LinePhase::ready || line.phase == LinePhase::again ||
                            line.phase == LinePhase::refused;
  if (!before_start) return;
  for (const std::string& notice : line.notices)
    if (notice != view.sentence) view.paragraphs.push_back(notice);
}

std::string pressure_words(const LineState& line) {
  for (const LiveValue& value : line.live.values)
    if (value.role == analysis::Role::discharge_pressure && value.value_si)
      return "The unit may be under pressure: " + reports::fixed(*value.value_si / 1000, 0) +
             reports::kNoBreak + "kPa gauge are read.";
  return "The unit may be under pressure: its pressure is not read.";
}

// Before everything but a motor that does not obey: whoever takes a unit off trusts this page.
void add_pressure(LineView& view, const LineState& line) {
  if (!line.live.may_be_under_pressure || line.phase == LinePhase::running) return;
  view.paragraphs.insert(
      view.paragraphs.begin(),
      {pressure_words(line),
       "No test starts here until it is seen vented. Whoever vented it by hand presses Clear."});
  if (line.phase == LinePhase::press_stop) return;
  act(view, "Do not touch the unit or its hoses. Call maintenance.", "Code B-217");
  view.sound = "alarm";
}

}  // namespace

std::string bench_name(const LineState& line) {
  constexpr std::string_view kBench = "Bench ";
  return line.bench_name.starts_with(kBench) ? line.bench_name.substr(kBench.size())
                                             : line.bench_name;
}

// What is due on it refuses units that are judged; the scan itself was good.
bool bench_is_locked(const LineState& line) {
  return line.phase == LinePhase::refused && line.code.starts_with("B-31");
}

bool is_trial(const LineState& line) { return line.purpose == "lab"; }
bool is_reference(const LineState& line) { return line.purpose == "reference"; }

std::string purpose_words(const LineState& line) {
  const bool chosen = !line.serial.empty() && line.phase != LinePhase::again;
  if (!chosen) return "";
  if (is_reference(line))
    return "Reference test" + (line.reference_name.empty() ? "" : ", " + line.reference_name);
  if (is_trial(line)) return "Lab trial";
  if (line.purpose == "returned") return "Returned unit";
  if (line.purpose == "trial") return "Training";
  if (line.purpose != "retest") return "";
  return "Retest" + (line.retest_reason.empty() ? "" : ", " + small_first(line.retest_reason));
}

std::string look_of(const LineState& line) { return words_for(line).look; }
std::string word_of(const LineState& line) { return words_for(line).word; }

void add_words(LineView& view, const LineState& line) {
  using Writer = void (*)(LineView&, const LineState&);
  static constexpr std::array<Writer, 9> kWriters{
      free_words,    ready_words,   again_words,      refused_words,   running_words,
      storing_words, verdict_words, out_of_use_words, press_stop_words};
  view.why_caption = "Why";
  view.sound = words_for(line).sound;
  kWriters[static_cast<std::size_t>(line.phase)](view, line);
  add_notices(view, line);
  add_what_is_missing(view, line);
  add_pressure(view, line);
}

}  // namespace endgate::daemon
