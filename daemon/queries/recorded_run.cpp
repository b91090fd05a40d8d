#include "daemon/queries/recorded_run.h"

#include <algorithm>
#include <array>
#include <bit>
#include <cmath>
#include <optional>

#include "analysis/ramp_windows.h"
#include "daemon/mapping/context_bytes.h"
#include "daemon/mapping/trace_of.h"
#include "daemon/queries/csv.h"

namespace endgate::daemon {
namespace {

using analysis::RawChannel;
using analysis::StepKind;
using analysis::StepMark;

enum Commanded : std::size_t { motor_relay, back_pressure, vent, seal_vent, kCommands };
constexpr std::array<const char*, kCommands> kCommandNames{"set_motor_relay", "set_back_pressure",
                                                           "set_vent", "set_seal_vent"};
using Commands = std::array<double, kCommands>;

constexpr Commands kSafe{0, 0, 1, 1};

struct Change {
  std::int64_t after_us = 0;
  Commanded what = motor_relay;
  double value = 0;
};

// A ramp ends with the first sample at its target; played, that sample may fall between two frames.
// What came right after it belongs to the ramp too, so that it arrives all the same.
constexpr std::int64_t kArrival_us = 400'000;

// What entering and leaving each kind of step commands (daemon/bench/step_*.cpp).
class Changes {
 public:
  explicit Changes(const std::vector<StepMark>& steps) {
    std::int64_t end_us = 0;
    for (const StepMark& step : steps) {
      enter(step, end_us);
      end_us = std::max(end_us, step.end_us);
      after_ramp_ = step.kind == StepKind::ramp;
    }
    if (!steps.empty()) make_safe(end_us);
    std::ranges::stable_sort(changes_, {}, &Change::after_us);
  }
  [[nodiscard]] const std::vector<Change>& all() const { return changes_; }

 private:
  void enter(const StepMark& step, std::int64_t previous_end_us) {
    switch (step.kind) {
      case StepKind::zero:
      case StepKind::vent:
        return make_safe(step.start_us);
      case StepKind::start:
        add(step.start_us, vent, 0);
        add(step.start_us, motor_relay, 1);
        return add(step.start_us, back_pressure, step.target_gauge_pa);
      case StepKind::warm_up:
      case StepKind::pump_up:
      case StepKind::hold:
        return add(step.start_us + (after_ramp_ ? kArrival_us : 0), back_pressure,
                   step.target_gauge_pa);
      case StepKind::ramp:
        return add(step.start_us, back_pressure, analysis::kRampBegins_pa);
      case StepKind::back_leak:
      case StepKind::coast_down:
      case StepKind::cut_out:
        return add(step.start_us, motor_relay, 0);
      case StepKind::seal_leak:
        return fill_housing(step, previous_end_us);
    }
  }

  // It may have begun beside other steps; the receiver is emptied once it is alone.
  void fill_housing(const StepMark& step, std::int64_t previous_end_us) {
    const std::int64_t alone_us = std::max(step.start_us, previous_end_us);
    add(step.start_us, seal_vent, 0);
    if (alone_us < step.end_us) {
      add(alone_us, back_pressure, 0);
      add(alone_us, vent, 1);
    }
    add(step.end_us, seal_vent, 1);
  }

  void make_safe(std::int64_t time_us) {
    for (std::size_t i = 0; i < kCommands; ++i) add(time_us, static_cast<Commanded>(i), kSafe[i]);
  }

  void add(std::int64_t after_us, Commanded what, double value) {
    changes_.push_back({after_us, what, value});
  }

  std::vector<Change> changes_;
  bool after_ramp_ = false;
};

double number_in(const RawChannel& channel, std::size_t sample) {
  const std::int64_t raw = channel.raw[sample];
  switch (channel.kind) {
    case analysis::RawKind::float32:
      return std::bit_cast<float>(static_cast<std::uint32_t>(raw));
    case analysis::RawKind::float64:
      return std::bit_cast<double>(raw);
    case analysis::RawKind::count:
      break;
  }
  return static_cast<double>(raw);
}

// One channel of the trace on its way to the file.
struct Column {
  const RawChannel* channel = nullptr;
  const analysis::ChannelFacts* facts = nullptr;
  std::size_t next = 0;

  [[nodiscard]] bool is_at_end() const { return next == channel->time_us.size(); }
  [[nodiscard]] std::int64_t time_us() const { return channel->time_us[next]; }
  // A poll that was not answered says nothing about the sensor.
  [[nodiscard]] std::string take() {
    const std::size_t sample = next++;
    if (channel->quality[sample] == analysis::Quality::not_arrived) return "";
    const double value = facts->scale * number_in(*channel, sample) + facts->offset_si;
    const bool good = channel->quality[sample] == analysis::Quality::good && std::isfinite(value);
    return good ? csv_number(value) : "none";
  }
};

std::vector<Column> columns_of(const analysis::RawTrace& trace, const analysis::Context& context) {
  std::vector<Column> columns;
  for (const RawChannel& channel : trace.channels) {
    const auto& all = context.bench.channels;
    const auto facts = std::ranges::find(all, channel.id, &analysis::ChannelFacts::id);
    if (facts != all.end()) columns.push_back({&channel, &*facts});
  }
  return columns;
}

std::optional<std::int64_t> earliest(const std::vector<Column>& columns) {
  std::optional<std::int64_t> time_us;
  for (const Column& column : columns)
    if (!column.is_at_end())
      time_us = std::min(time_us.value_or(column.time_us()), column.time_us());
  return time_us;
}

void write_names(const std::vector<Column>& columns, std::ostream& out) {
  out << "time_s";
  for (const Column& column : columns) out << "," << column.channel->id;
  for (const char* name : kCommandNames) out << "," << name;
  out << "\n";
}

}  // namespace

void write_recorded_run(const schema::Record& record, const schema::Trace& trace,
                        std::ostream& out) {
  const analysis::RawTrace raw = raw_trace_of(trace);
  const analysis::Context context = context_from(record.context_bytes);
  std::vector<Column> columns = columns_of(raw, context);
  const Changes changes(raw.steps);
  auto change = changes.all().begin();
  Commands commands = kSafe;
  write_names(columns, out);
  const std::int64_t begin_us = earliest(columns).value_or(0);
  while (const auto now_us = earliest(columns)) {
    for (; change != changes.all().end() && change->after_us < *now_us; ++change)
      commands[change->what] = change->value;
    out << csv_number(static_cast<double>(*now_us - begin_us) / 1e6);
    for (Column& column : columns)
      out << "," << (!column.is_at_end() && column.time_us() == *now_us ? column.take() : "");
    for (const double value : commands) out << "," << csv_number(value);
    out << "\n";
  }
}

}  // namespace endgate::daemon
