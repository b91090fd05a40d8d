// Hand-made states of the line, one for each look of its page.  Invented numbers.

#pragma once

#include <algorithm>
#include <string>
#include <vector>

#include "daemon/line/line_state.h"

namespace endgate::test {

inline constexpr const char* kLooks[] = {
    "free", "ready", "again",     "refused", "running", "ignored",    "lost",    "storing",
    "pass", "fail",  "undecided", "void",    "stopped", "out-of-use", "storage", "press-stop"};

inline std::vector<daemon::LimitBandPoint> sample_band() {
  const double lower[] = {55.0, 49.5, 44.0, 39.5, 35.0};
  const double upper[] = {68.0, 61.5, 56.0, 51.0, 46.5};
  std::vector<daemon::LimitBandPoint> band;
  for (int i = 0; i < 5; ++i) band.push_back({i * 200e3, lower[i] / 60000, upper[i] / 60000});
  return band;
}

inline std::vector<daemon::RailStep> sample_rail(int now, bool broken = false) {
  using Mark = daemon::RailStep::Mark;
  const std::pair<const char*, const char*> steps[] = {
      {"zero", "Zero"},        {"start", "Start"},         {"hold_0", "0 kPa"},
      {"hold_200", "200 kPa"}, {"hold_400", "400 kPa"},    {"hold_600", "600 kPa"},
      {"hold_800", "800 kPa"}, {"back_leak", "Back leak"}, {"seal_leak", "Seal leak"},
      {"vent", "Vent"}};
  std::vector<daemon::RailStep> rail;
  int i = 0;
  for (const auto& [id, name] : steps) {
    const Mark mark = i < now   ? Mark::done
                      : i > now ? Mark::to_come
                      : broken  ? Mark::broken
                                : Mark::now;
    rail.push_back({id, name, mark});
    ++i;
  }
  return rail;
}

inline daemon::BenchLive sample_live(bool running) {
  using analysis::Role;
  daemon::BenchLive live;
  live.condition = running ? daemon::BenchCondition::running : daemon::BenchCondition::ready;
  live.values = {{Role::discharge_pressure, running ? 402100.0 : 200.0, 0.02, 1},
                 {Role::flow, running ? 49.8 / 60000 : 0.0, 0.02, 1},
                 {Role::supply_current, running ? 6.41 : 0.0, 0.02, 2},
                 {Role::supply_voltage, running ? 13.5 : 0.0, 0.02, 2},
                 {Role::speed, running ? 2874.0 / 60 : 0.0, 0.02, 0},
                 {Role::head_temperature, (running ? 71 : 52) + 273.15, 0.02, 0}};
  live.interlocks.motor_relay_closed = running;
  if (running) live.step = daemon::StepProgress{.index = 4, .started_us = 0, .expected_s = 8};
  return live;
}

inline analysis::LimitOutcome sample_limit(const std::string& metric, analysis::Verdict verdict,
                                           std::optional<double> lower, std::optional<double> upper,
                                           double band) {
  return {.metric = metric,
          .verdict = verdict,
          .warn = false,
          .lower = lower,
          .upper = upper,
          .pass_band = band,
          .fail_band = band,
          .margin = std::nullopt,
          .sentence = ""};
}

// Flow at 0 ... 800 kPa in L/min; everything else of the result follows from them.
inline daemon::LineResult sample_result(const std::string& verdict,
                                        const std::vector<double>& flow_l_min) {
  using analysis::Verdict;
  daemon::LineResult result;
  result.verdict = verdict;
  for (std::size_t i = 0; i < flow_l_min.size(); ++i) {
    const std::string id = "fad_" + std::to_string(200 * i);
    const double flow = flow_l_min[i] / 60000;
    result.metrics.push_back({id, flow, 0.3 / 60000, {}, false, ""});
    const auto band = sample_band()[i];
    const double w = 0.5 / 60000;
    const Verdict held = flow >= *band.lower_m3_s + w  ? Verdict::pass
                         : flow < *band.lower_m3_s - w ? Verdict::fail
                                                       : Verdict::undecided;
    result.limits.push_back(sample_limit(id, held, band.lower_m3_s, band.upper_m3_s, w));
  }
  result.metrics.push_back({"current_600", 7.12, 0.025, {}, false, ""});
  result.limits.push_back(sample_limit("current_600", Verdict::pass, std::nullopt, 7.4, 0.04));
  result.metrics.push_back({"back_leak", 9.5 / 6e7, 0.6 / 6e7, {}, false, ""});
  result.limits.push_back(
      sample_limit("back_leak", Verdict::pass, std::nullopt, 30 / 6e7, 1 / 6e7));
  const auto rank = [](const analysis::LimitOutcome& limit) {
    return limit.verdict == Verdict::fail ? 0 : limit.verdict == Verdict::undecided ? 1 : 2;
  };
  std::stable_sort(result.limits.begin(), result.limits.end(),
                   [&](const auto& a, const auto& b) { return rank(a) < rank(b); });
  for (int i = 0; i < 64 && flow_l_min.size() == 5; ++i) {
    const double p = i * 800.0 / 63, x = p / 200;
    const auto k = std::min<std::size_t>(3, static_cast<std::size_t>(x));
    const double t = x - static_cast<double>(k);
    const double flow = flow_l_min[k] + t * (flow_l_min[k + 1] - flow_l_min[k]);
    result.drawn.push_back({p * 1000, flow / 60000, 0.3 / 60000, false});
  }
  result.position = 48211;
  result.cycle_s = 61.4;
  return result;
}

inline daemon::LineState sample_line(const std::string& look) {
  using daemon::LinePhase;
  daemon::LineState line;
  line.version = 1;
  line.bench = look;
  line.bench_name = "Bench north";
  line.simulated = true;
  line.expected_s = 62;
  line.live = sample_live(false);
  line.rail = sample_rail(-1);
  line.band = sample_band();
  line.serial = "QH2648-0117-K";
  line.model = "P1-60-12";
  line.batch = "48-B2";
  line.attempt = 1;
  const std::vector<double> good{61.9, 55.4, 49.8, 44.7, 40.6};

  if (look == "free") {
    line.serial.clear();
    line.last_unit = "QH2648-0116-M, pass, 09:58";
  } else if (look == "ready") {
    line.phase = LinePhase::ready;
  } else if (look == "again") {
    line.phase = LinePhase::again;
    line.attempt = 2;
    line.code = "has_pass";
    line.earlier = "Passed on 2026-11-25 10:42 UTC, bench north, attempt 1.";
    line.reasons_to_choose = {"Customer return", "After repair", "Audit", "Wrong label",
                              "Training"};
  } else if (look == "refused") {
    line.phase = LinePhase::refused;
    line.serial.clear();
    line.code = "U-102";
    line.message = "Read \"QH2648-0117-X\". Check character wrong: scan again.";
  } else if (look == "running" || look == "ignored" || look == "lost") {
    line.phase = LinePhase::running;
    line.live = sample_live(true);
    line.rail = sample_rail(4);
    line.seconds_left = 38;
    line.so_far = {{0, 61.9 / 60000}, {200e3, 55.4 / 60000}, {400e3, 49.8 / 60000}};
    if (look == "ignored") line.ignored_scan = "QH2648-0118-C";
    if (look == "lost") {
      for (auto& value : line.live.values) value.value_si.reset();
      line.live.interlocks = {};
    }
  } else if (look == "storing") {
    line.phase = LinePhase::storing;
    line.rail = sample_rail(10);
    line.so_far = {{0, 61.9 / 60000},
                   {200e3, 55.4 / 60000},
                   {400e3, 49.8 / 60000},
                   {600e3, 44.7 / 60000},
                   {800e3, 40.6 / 60000}};
    line.result = sample_result("pass", good);  // known already, not kept yet: must not show
  } else if (look == "pass" || look == "fail" || look == "undecided") {
    line.phase = LinePhase::verdict;
    line.rail = sample_rail(10);
    line.result = sample_result(look, look == "pass"   ? good
                                      : look == "fail" ? std::vector{60.9, 52.0, 44.3, 35.4, 30.9}
                                                       : std::vector{58.7, 52.0, 44.3, 41.2, 37.0});
    if (look == "pass") {
      line.result->reasons = {{"within_limits", "", "All 7 limits are kept."}};
      line.result->standing = "release";
      line.result->standing_reason = "All 7 limits are kept.";
    } else if (look == "fail") {
      line.result->reasons = {
          {"below_lower", "fad_600", "Flow at 600 kPa is 35.4 ± 0.6 L/min, below 39.5 L/min."}};
      line.result->standing = "reject";
      line.result->standing_reason = "Flow at 600 kPa is certainly below its limit.";
    } else {
      line.result->reasons = {{"too_near_limit", "fad_400",
                               "Flow at 400 kPa is 44.3 ± 0.6 L/min, too near 44.0 L/min."}};
      line.result->standing = "hold";
      line.result->standing_reason = "Flow at 400 kPa is too near its limit; a repeat may decide.";
    }
  } else if (look == "void" || look == "stopped") {
    line.phase = LinePhase::verdict;
    line.rail = sample_rail(4, true);
    line.so_far = {{0, 61.9 / 60000}, {200e3, 55.4 / 60000}};
    line.result = daemon::LineResult{};
    line.result->verdict = "void";
    line.result->kept_samples = true;
    line.result->sentence = look == "void" ? "Flow was silent for 0.4 s during 400 kPa."
                                           : "Stopped by Operator 12 during 400 kPa.";
    line.result->reasons = {{look == "void" ? "channel_silent" : "broken_off_stopped_by_person",
                             "flow", line.result->sentence}};
    line.result->standing = "hold";
    line.result->standing_reason = "Its test was void.";
    if (look == "void") line.live.values[1].value_si.reset();
    if (look == "void") line.live.values[1].age_s = 3.2;
  } else if (look == "out-of-use") {
    line.phase = LinePhase::out_of_use;
    line.serial.clear();
    line.code = "B-102";
    line.message = "No contact with device io at 127.0.0.1:5020 since 06:10.";
    for (auto& value : line.live.values) value.value_si.reset();
  } else if (look == "storage") {
    line.phase = LinePhase::out_of_use;
    line.serial.clear();
    line.code = "S-120";
    line.message = "Storage is full. The running test was stopped and is not shown as judged.";
  } else if (look == "press-stop") {
    line.phase = LinePhase::press_stop;
    line.code = "B-101";
    line.message = "Off was sent and current still flows.";
    line.live = sample_live(true);
  }
  return line;
}

}  // namespace endgate::test
