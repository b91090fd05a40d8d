#include "daemon/links/recorded_run.h"

#include <algorithm>
#include <cmath>

namespace endgate::daemon {
namespace {

constexpr std::string_view kMotor = "motor_relay";

// A channel may have the name of an actuator: what was set is not what was measured.
std::string column_of(std::string_view actuator) { return "set_" + std::string(actuator); }

// A command that went through registers comes back with the last bits lost.
bool is_same(double commanded, double recorded) {
  return std::abs(commanded - recorded) <= 1e-6 * std::max(1.0, std::abs(recorded));
}

std::optional<std::size_t> index_in(const std::vector<std::string>& names, std::string_view name) {
  const auto found = std::ranges::find(names, name);
  if (found == names.end()) return std::nullopt;
  return static_cast<std::size_t>(found - names.begin());
}

}  // namespace

RecordedRun::RecordedRun(std::unique_ptr<std::istream> file, std::vector<std::string> channels,
                         std::vector<std::string> actuators)
    : rows_(std::move(file)), channels_(std::move(channels)) {
  if (rows_.fault().empty()) find_columns(actuators);
}

void RecordedRun::find_columns(const std::vector<std::string>& actuators) {
  std::string lacking;
  const auto need = [&](std::string_view name) {
    const auto column = index_in(rows_.columns(), name);
    if (!column) lacking += (lacking.empty() ? "" : ", ") + std::string(name);
    return column.value_or(0);
  };
  for (const std::string& channel : channels_) column_of_channel_.push_back(need(channel));
  (void)need(column_of(kMotor));
  for (const std::string& actuator : actuators) {
    const auto column = index_in(rows_.columns(), column_of(actuator));
    commanded_of_actuator_.push_back(column ? std::optional(commanded_.size()) : std::nullopt);
    if (!column) continue;
    if (actuator == kMotor) motor_ = commanded_.size();
    commanded_.push_back({*column, actuator});
  }
  if (!lacking.empty()) wrong("it has no column " + lacking);
}

bool RecordedRun::look_through(std::size_t rows) {
  for (std::size_t i = 0; i < rows && fault_.empty(); ++i) {
    RecordedRows::Place begin = rows_.place();
    const auto row = rows_.next();
    if (!rows_.fault().empty()) break;
    if (!row) {
      end_look();
      return true;
    }
    note(*row, std::move(begin));
  }
  if (!rows_.fault().empty()) wrong(rows_.fault());
  return !fault_.empty();
}

void RecordedRun::note(const RecordedRow& row, RecordedRows::Place begin) {
  std::vector<double> values = commands_in(row);
  if (std::ranges::any_of(values, [](double value) { return std::isnan(value); }))
    return wrong("its first row does not say what was commanded");
  if (!sections_.empty() && sections_.back().values == values) return;
  if (sections_.size() == kMostSections)
    return wrong("more than " + std::to_string(kMostSections) + " changes of commands");
  sections_.push_back({std::move(begin), std::move(values)});
}

void RecordedRun::end_look() {
  if (sections_.empty()) return wrong("it has no rows");
  if (sections_.front().values[motor_] >= 0.5) return wrong("it begins with the motor on");
  for (std::size_t i = 0; i < commanded_.size(); ++i)
    commanded_[i].value = sections_.front().values[i];
  begin_section(0);
}

void RecordedRun::begin_section(std::size_t section) {
  section_ = section;
  kept_.clear();
  waited_us_ = 0;
  rows_.go_to(sections_[section].begin);
  next_ = rows_.next();
  if (next_) position_us_ = next_->time_us;
  take_next();
}

void RecordedRun::take_next() {
  if (next_) {
    kept_.push_back(std::move(*next_));
    while (kept_.size() > kMostKept || kept_.back().time_us - kept_.front().time_us > kRepeated_us)
      kept_.pop_front();
    next_ = rows_.next();
  }
  if (!rows_.fault().empty()) wrong(rows_.fault());
  if (kept_.empty()) wrong("its file was changed while it was played");
}

void RecordedRun::play(std::int64_t by_us) {
  if (!fault_.empty()) return;
  position_us_ += by_us;
  while (fault_.empty()) {
    if (next_is_of_section()) {
      if (next_->time_us > position_us_) return;
      take_next();
    } else if (!may_go_on()) {
      waited_us_ = std::max<std::int64_t>(0, position_us_ - kept_.back().time_us);
      return;
    } else if (next_ && waited_us_ == 0 && next_->time_us > position_us_) {
      return;
    } else {
      return begin_section(following());
    }
  }
}

bool RecordedRun::next_is_of_section() const {
  return next_ && commands_in(*next_) == sections_[section_].values;
}

// What is commanded differently from here on has been commanded.
bool RecordedRun::may_go_on() const {
  const std::vector<double>& here = sections_[section_].values;
  const std::vector<double>& there = sections_[following()].values;
  for (std::size_t i = 0; i < commanded_.size(); ++i)
    if (here[i] != there[i] && !is_same(commanded_[i].value, there[i])) return false;
  return true;
}

void RecordedRun::command(std::size_t actuator, double value) {
  const auto index = commanded_of_actuator_[actuator];
  if (!index || !fault_.empty()) return;
  commanded_[*index].value = value;
  if (const auto section = section_with(*index)) begin_section(*section);
}

std::optional<std::size_t> RecordedRun::section_with(std::size_t commanded) const {
  const double wanted = commanded_[commanded].value;
  if (is_same(wanted, sections_[section_].values[commanded])) return std::nullopt;
  const double motor = sections_[section_].values[motor_];
  for (std::size_t ahead = 1; ahead < sections_.size(); ++ahead) {
    const std::size_t section = (section_ + ahead) % sections_.size();
    const std::vector<double>& values = sections_[section].values;
    if (commanded != motor_ && (values[motor_] != motor || section < section_)) break;
    if (is_same(wanted, values[commanded])) return section;
  }
  return std::nullopt;
}

std::vector<double> RecordedRun::commands_in(const RecordedRow& row) const {
  std::vector<double> values;
  for (const Commanded& each : commanded_) values.push_back(row.values[each.column]);
  return values;
}

// While waiting: back to the beginning of what is kept, and forth again.
const RecordedRow& RecordedRun::shown() const {
  const std::int64_t span_us = kept_.back().time_us - kept_.front().time_us;
  if (waited_us_ == 0 || span_us == 0) return kept_.back();
  const std::int64_t turn_us = waited_us_ % (2 * span_us);
  const std::int64_t back_us = turn_us <= span_us ? turn_us : 2 * span_us - turn_us;
  const std::int64_t time_us = kept_.back().time_us - back_us;
  const auto after = std::ranges::upper_bound(kept_, time_us, {}, &RecordedRow::time_us);
  return after == kept_.begin() ? *after : *std::prev(after);
}

double RecordedRun::value(std::size_t channel) const {
  return shown().values[column_of_channel_[channel]];
}

std::int64_t RecordedRun::recorded_us() const { return shown().time_us; }

void RecordedRun::wrong(const std::string& what) {
  if (fault_.empty()) fault_ = what;
}

}  // namespace endgate::daemon
