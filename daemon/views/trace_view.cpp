#include "daemon/views/trace_view.h"

#include <algorithm>

#include "analysis/calibration.h"
#include "analysis/role.h"
#include "analysis/say_number.h"
#include "daemon/mapping/context_bytes.h"
#include "daemon/mapping/trace_of.h"
#include "daemon/queries/retention.h"
#include "daemon/views/decimate.h"
#include "daemon/views/shown.h"
#include "reports/trace_plot.h"

namespace endgate::daemon {
namespace {

using analysis::Role;

const analysis::Samples* chosen_channel(const analysis::SamplesByRole& samples,
                                        const std::string& channel) {
  for (const analysis::Samples& one : samples) {
    if (one.facts == nullptr) continue;
    if (channel.empty() ? one.facts->role == Role::discharge_pressure : one.facts->id == channel)
      return &one;
  }
  return nullptr;
}

// Good samples in order, with an empty place wherever the channel was silent.
struct WithGaps {
  std::vector<double> time_s{};
  std::vector<std::optional<double>> value{};
};

WithGaps with_gaps(const analysis::Samples& samples) {
  WithGaps out;
  const analysis::Column& column = samples.column;
  for (std::size_t i = 0; i < column.value.size(); ++i) {
    const bool silent =
        i > 0 && column.time_s[i] - column.time_s[i - 1] > samples.facts->silent_after_s;
    if (silent) {
      out.time_s.push_back(column.time_s[i - 1]);
      out.value.emplace_back();
    }
    out.time_s.push_back(column.time_s[i]);
    out.value.emplace_back(column.value[i]);
  }
  return out;
}

void add_pieces(TraceShown& shown, const analysis::Samples& samples, std::size_t points) {
  const WithGaps line = with_gaps(samples);
  for (const DecimatedPiece& piece : decimate(line.value, points))
    shown.pieces.push_back({line.time_s[piece.first], piece.lowest, piece.highest});
}

// A trial's runs and rests are of these kinds under names of their own; the mark keeps the id.
bool is_of_trial(const analysis::StepMark& step) {
  using analysis::StepKind;
  return (step.kind == StepKind::warm_up && step.id != "warm_up") ||
         (step.kind == StepKind::vent && step.id != "vent");
}

std::string trial_step_name(const analysis::StepMark& step) {
  std::string name = analysis::capitalised(step.id);
  std::ranges::replace(name, '_', ' ');
  if (step.target_gauge_pa > 0)
    name += ", " + reports::fixed(step.target_gauge_pa / 1000, 0) + reports::kNoBreak + "kPa";
  return name;
}

std::string step_name(const analysis::StepMark& step) {
  if (is_of_trial(step)) return trial_step_name(step);
  switch (step.kind) {
    case analysis::StepKind::hold:
      return reports::fixed(step.target_gauge_pa / 1000, 0) + reports::kNoBreak + "kPa";
    case analysis::StepKind::zero:
      return "Zero";
    case analysis::StepKind::start:
      return "Start";
    case analysis::StepKind::warm_up:
      return "Warm-up";
    case analysis::StepKind::back_leak:
      return "Back leak";
    case analysis::StepKind::seal_leak:
      return "Seal leak";
    case analysis::StepKind::vent:
      return "Vent";
    case analysis::StepKind::pump_up:
      return "Pump up";
    case analysis::StepKind::ramp:
      return "Ramp";
    case analysis::StepKind::coast_down:
      return "Coast down";
    case analysis::StepKind::cut_out:
      return "Cut-out";
  }
  return step.id;
}

TraceShown shown_of(const analysis::RawTrace& trace, const analysis::BenchFacts& bench,
                    const std::string& channel, std::size_t points) {
  const analysis::SamplesByRole samples = analysis::calibrate(trace, bench);
  const analysis::Samples* chosen = chosen_channel(samples, channel);
  if (chosen == nullptr) return {.missing = "This trace has no channel of that name."};
  TraceShown shown{.channel = chosen->facts->id};
  for (const analysis::Samples& one : samples)
    if (one.facts != nullptr)
      shown.channels.push_back({one.facts->id, words_of(one.facts->role).name});
  shown.si_unit = analysis::kRoles[static_cast<std::size_t>(chosen->facts->role)].si_unit;
  const ChannelWords words = words_of(chosen->facts->role);
  shown.factor = words.factor;
  shown.offset = words.offset;
  shown.quantity = std::string(words.name) + ", " + words.unit;
  shown.samples = chosen->column.value.size();
  add_pieces(shown, *chosen, points);
  shown.origin_us = analysis::origin_us(trace);
  for (const analysis::StepMark& step : trace.steps)
    shown.steps.push_back(
        {step_name(step), analysis::seconds_from(shown.origin_us, step.start_us)});
  return shown;
}

std::string sentence_of(const TraceShown& shown, std::size_t used) {
  const auto gaps = std::count_if(shown.pieces.begin(), shown.pieces.end(),
                                  [](const auto& piece) { return !piece.lowest_si; });
  const double end = shown.pieces.empty() ? 0 : shown.pieces.back().time_s;
  return shown.quantity + " over " + reports::fixed(end, 0) + reports::kNoBreak + "s, " +
         reports::fixed(static_cast<double>(shown.samples), 0) + " samples, " +
         std::to_string(gaps) + " gaps; " + std::to_string(used) + " stretches were used.";
}

std::vector<reports::UsedSpan> used_spans(const schema::Record& record, std::int64_t origin_us) {
  std::vector<reports::UsedSpan> used;
  for (const schema::PointAsReduced& point : record.points)
    used.push_back({analysis::seconds_from(origin_us, point.window_start_us),
                    analysis::seconds_from(origin_us, point.window_end_us)});
  return used;
}

reports::Node plot_of(const TraceShown& trace, std::vector<reports::UsedSpan> used,
                      const std::string& sentence) {
  reports::TracePlot plot{.quantity = trace.quantity, .description = sentence};
  const auto shown = [&](const std::optional<double>& si) {
    return si ? std::optional(*si * trace.factor + trace.offset) : std::nullopt;
  };
  for (const TraceShown::Piece& piece : trace.pieces)
    plot.pieces.push_back({piece.time_s, shown(piece.lowest_si), shown(piece.highest_si)});
  for (const TraceShown::Step& step : trace.steps) plot.steps.push_back({step.name, step.start_s});
  plot.used = std::move(used);
  return draw(plot);
}

std::string why_missing(const schema::StoreReader& store, const schema::StoredRecord& test) {
  const auto removed = store.trace_removal_of(test.position);
  return removed ? removed_words(removed->fact) : "No trace is kept with this test.";
}

}  // namespace

TraceShown trace_shown(const schema::StoreReader& store, const schema::StoredRecord& test,
                       const std::string& channel, std::size_t points) {
  const std::optional<schema::Trace> kept = store.trace_of(test);
  if (!kept) return {.missing = why_missing(store, test)};
  if (test.record.context_bytes.empty())
    return {.missing = "This test keeps no calibration, so its trace cannot be shown."};
  const analysis::Context context = context_from(test.record.context_bytes);
  return shown_of(raw_trace_of(*kept), context.bench, channel, points);
}

void add_trace(reports::UnitPage& page, const schema::StoredRecord& test, const TraceShown& trace) {
  page.trace_title = "Trace of attempt " + std::to_string(test.record.start.attempt);
  page.trace_sentence = trace.missing;
  if (!trace.missing.empty()) return;
  std::vector<reports::UsedSpan> used = used_spans(test.record, trace.origin_us);
  page.trace_sentence = sentence_of(trace, used.size());
  const std::string address = "/units/" + address_part(test.record.start.serial) + "/" +
                              std::to_string(test.record.start.attempt) + "?channel=";
  for (const TraceShown::Channel& channel : trace.channels)
    page.channels.push_back(
        {channel.name, address + address_part(channel.id), channel.id == trace.channel});
  page.trace = plot_of(trace, std::move(used), page.trace_sentence);
}

}  // namespace endgate::daemon
