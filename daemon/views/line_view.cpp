#include "daemon/views/line_view.h"

#include "daemon/views/curves.h"
#include "daemon/views/line_words.h"
#include "daemon/views/shown.h"
#include "reports/signs.h"

namespace endgate::daemon {
namespace {

constexpr std::size_t kMostLimits = 3;

reports::Node sign_of(const LineState& line) {
  using reports::Sign;
  const std::string said = word_of(line);
  switch (line.phase) {
    case LinePhase::free:
      return draw_sign(Sign::free, said);
    case LinePhase::ready:
      return reports::draw_ring(line.expected_s, line.expected_s, "", said);
    case LinePhase::again:
      return draw_sign(Sign::again, said);
    case LinePhase::refused:
      return draw_sign(bench_is_locked(line) ? Sign::out_of_use : Sign::refused, said);
    case LinePhase::running:
      if (not_heard(line)) return draw_sign(Sign::no_contact, said);
      return reports::draw_ring(line.seconds_left, line.expected_s, "left", said);
    case LinePhase::storing:
      return reports::draw_ring(0.0, 1, "left", said);
    case LinePhase::verdict:
      return draw_sign(reports::sign_of_verdict(line.result ? line.result->verdict : ""), said);
    case LinePhase::out_of_use:
      return draw_sign(Sign::out_of_use, said);
    case LinePhase::press_stop:
      return draw_sign(Sign::warning, said);
  }
  return draw_sign(Sign::out_of_use, said);
}

std::string about(const LineState& line) {
  if (line.serial.empty()) return "Bench " + bench_name(line);
  std::string text = line.serial + " · model " + line.model;
  if (line.attempt > 0) text += " · attempt " + std::to_string(line.attempt);
  return text;
}

std::vector<reports::RailMark> rail_of(const LineState& line) {
  static constexpr const char* kStates[] = {"to-come", "now", "done", "broken"};
  std::vector<reports::RailMark> rail;
  for (const RailStep& step : line.rail) {
    rail.push_back({step.name, kStates[static_cast<std::size_t>(step.mark)]});
  }
  return rail;
}

void add_curve(reports::LineView& view, const LineState& line) {
  reports::CurveChart chart = curve_chart_of(line);
  view.curve = draw(chart);
  chart.width = 620;
  chart.height = 190;
  view.curve_narrow = draw(chart);
}

bool has_curve(const LineState& line) {
  return !line.so_far.empty() || (line.result && !line.result->drawn.empty());
}

void add_limits(reports::LineView& view, const LineState& line) {
  if (line.phase != LinePhase::verdict || !line.result || line.result->verdict == "void") return;
  for (const HeldLimit& limit : held_limits(line.result->limits, line.result->metrics)) {
    if (view.limits.size() == kMostLimits) break;
    view.limits.push_back(limit_row(limit));
  }
}

void add_choices(reports::LineView& view, const LineState& line) {
  if (line.phase != LinePhase::again) return;
  for (const std::string& reason : line.reasons_to_choose)
    view.choices.push_back({std::to_string(view.choices.size() + 1), reason});
}

std::string title_of(const reports::LineView& view, const LineState& line) {
  return view.word + (line.serial.empty() ? "" : " " + line.serial) + ", " + view.bench_name;
}

}  // namespace

reports::LineView line_view_of(const LineState& line) {
  reports::LineView view{
      .version = line.version, .bench = line.bench, .bench_name = bench_name(line)};
  view.look = look_of(line);
  view.word = word_of(line);
  view.about = about(line);
  view.serial = line.serial;
  view.purpose = purpose_words(line);
  add_words(view, line);
  add_limits(view, line);
  add_choices(view, line);
  view.may_start = line.phase == LinePhase::ready || line.phase == LinePhase::again;
  view.may_clear = line.phase == LinePhase::press_stop || line.phase == LinePhase::out_of_use ||
                   (line.live.may_be_under_pressure && line.phase != LinePhase::running);
  view.sign = sign_of(line);
  add_curve(view, line);
  view.rail = rail_of(line);
  view.live = live_cells(line.live, is_trial(line));
  view.trial = is_trial(line) && !has_curve(line);
  view.title = title_of(view, line);
  const std::string purpose = view.purpose.empty() ? "" : ". " + view.purpose;
  view.status = view.word + ". " + view.about + purpose + ". " + view.next;
  view.batch = line.batch;
  view.simulated = line.simulated;
  return view;
}

}  // namespace endgate::daemon
