#include "daemon/views/shown.h"

#include <algorithm>
#include <array>
#include <cctype>
#include <cmath>
#include <ctime>

#include "analysis/grade_words.h"
#include "analysis/limit_subject.h"
#include "analysis/metric_facts.h"
#include "analysis/say_number.h"

namespace endgate::daemon {
namespace {

template <class Metrics>
void add_value(HeldLimit& held, const Metrics& metrics) {
  for (const auto& metric : metrics) {
    if (metric.id != held.metric) continue;
    held.value = metric.value;
    held.u = metric.u;
    held.missing_reason = metric.missing_reason;
  }
}

// Of a relation and of the curve: their numbers are shown like those of this metric.
const analysis::MetricFacts* shown_like(const std::string& subject) {
  if (const auto relation = analysis::relation_in(subject))
    return analysis::facts_of_metric(relation->metric);
  return analysis::facts_of_metric(subject == analysis::kCurveSubject ? "fad_0" : subject);
}

// What the outcome itself says of its value, where it is on no metric.
template <class Outcome>
void add_subject(HeldLimit& held, const Outcome& outcome) {
  if (analysis::is_one_metric(outcome.metric)) return;
  held.value = outcome.value;
  held.u = outcome.u;
  held.gauge_pa = outcome.gauge_pa;
  for (const auto& point : outcome.band)
    held.band.push_back({point.gauge_pa, point.lower, point.upper});
}

int decimals_of(const std::string& metric) {
  const analysis::MetricFacts* facts = shown_like(metric);
  return facts == nullptr ? 3 : facts->decimals;
}

// Limits and acceptance limits, in display units.
std::vector<double> bounds_of(const HeldLimit& limit) {
  std::vector<double> bounds;
  const auto add = [&](double si) { bounds.push_back(shown_value(limit.metric, si)); };
  if (limit.lower) {
    add(*limit.lower);
    add(*limit.lower + limit.pass_band);
  }
  if (limit.upper) {
    add(*limit.upper);
    add(*limit.upper - limit.pass_band);
  }
  return bounds;
}

std::string bound_words(const HeldLimit& limit, double si, int decimals) {
  return reports::bound_text(shown_value(limit.metric, si), decimals);
}

std::string ruler_words(const HeldLimit& limit) {
  const auto margin = margin_of(limit);
  if (!margin) return metric_name(limit.metric) + ": no value";
  const double size = shown_size(limit.metric, std::abs(margin->size));
  const std::string amount = reports::fixed(size, decimals_of(limit.metric)) + reports::kNoBreak +
                             metric_unit(limit.metric);
  return metric_name(limit.metric) + ": " +
         (margin->size >= 0 ? amount + " to spare" : "short by " + amount);
}

}  // namespace

std::vector<HeldLimit> held_limits(const std::vector<analysis::LimitOutcome>& limits,
                                   const std::vector<analysis::Metric>& metrics) {
  std::vector<HeldLimit> out;
  for (const analysis::LimitOutcome& limit : limits) {
    HeldLimit held{.metric = limit.metric,
                   .outcome = analysis::word_of(limit.verdict),
                   .warn = limit.warn,
                   .lower = limit.lower,
                   .upper = limit.upper,
                   .pass_band = limit.pass_band,
                   .fail_band = limit.fail_band};
    add_value(held, metrics);
    add_subject(held, limit);
    out.push_back(std::move(held));
  }
  return out;
}

std::vector<HeldLimit> held_limits(const schema::Record& record) {
  std::vector<HeldLimit> out;
  for (const schema::LimitAsWas& limit : record.limits) {
    HeldLimit held{.metric = limit.metric,
                   .outcome = limit.outcome,
                   .warn = limit.warn,
                   .lower = limit.lower,
                   .upper = limit.upper,
                   .pass_band = limit.pass_band,
                   .fail_band = limit.fail_band};
    add_value(held, record.metrics);
    add_subject(held, limit);
    out.push_back(std::move(held));
  }
  return out;
}

std::string metric_name(const std::string& id) {
  if (id == analysis::kCurveSubject) return "Delivery curve";
  if (const auto relation = analysis::relation_in(id))
    return metric_name(std::string(relation->metric)) + " against " +
           analysis::words_of_metric(relation->against).name;
  const analysis::MetricFacts* facts = analysis::facts_of_metric(id);
  return facts == nullptr ? id : std::string(facts->name);
}

std::string metric_name_brief(const std::string& id) {
  std::string name = metric_name(id);
  constexpr std::string_view kLong = "Free-air delivery";
  if (name.starts_with(kLong)) name.replace(0, kLong.size(), "Delivery");
  if (name.starts_with("Supply current")) name.replace(0, 14, "Current");
  return name;
}

std::string metric_name_short(const std::string& id) {
  return analysis::capitalised(analysis::words_of_metric(id).name);
}

std::string metric_unit(const std::string& id) {
  const analysis::MetricFacts* facts = shown_like(id);
  if (facts == nullptr) return "";
  std::string unit(facts->display_unit);
  if (const std::size_t cube = unit.find("m3"); cube != std::string::npos)
    unit.replace(cube, 2, "m³");
  return unit;
}

double shown_value(const std::string& metric, double si) {
  const analysis::MetricFacts* facts = shown_like(metric);
  return facts == nullptr ? si : facts->factor * si + facts->offset;
}

double shown_size(const std::string& metric, double si) {
  const analysis::MetricFacts* facts = shown_like(metric);
  return facts == nullptr ? si : facts->factor * si;
}

reports::WrittenReading written_value(const HeldLimit& limit) {
  reports::Reading reading{.decimals = decimals_of(limit.metric)};
  if (limit.value) reading.value = shown_value(limit.metric, *limit.value);
  if (limit.u) reading.expanded_u = shown_size(limit.metric, kCoverage * *limit.u);
  return reports::write_reading(reading, bounds_of(limit));
}

std::string limit_words(const HeldLimit& limit) {
  const int decimals = decimals_of(limit.metric);
  if (limit.lower && limit.upper)
    return "between " + bound_words(limit, *limit.lower, decimals) + " and " +
           bound_words(limit, *limit.upper, decimals);
  if (limit.lower) return "at least " + bound_words(limit, *limit.lower, decimals);
  if (limit.upper) return "at most " + bound_words(limit, *limit.upper, decimals);
  return "no limit";
}

std::optional<Margin> margin_of(const HeldLimit& limit) {
  if (!limit.value || (!limit.lower && !limit.upper)) return std::nullopt;
  const double low = limit.lower ? *limit.value - *limit.lower : HUGE_VAL;
  const double high = limit.upper ? *limit.upper - *limit.value : HUGE_VAL;
  return low <= high ? Margin{low, true} : Margin{high, false};
}

reports::Ruler ruler_of(const HeldLimit& limit, double width) {
  reports::Ruler ruler{.description = ruler_words(limit), .width = width};
  const auto margin = margin_of(limit);
  if (margin) ruler.margin = margin->size;
  ruler.expanded_u = kCoverage * limit.u.value_or(0);
  ruler.guard = limit.pass_band;
  ruler.limit_size = margin && !margin->to_lower ? *limit.upper : limit.lower.value_or(0);
  // In a band the middle comes to lie two thirds of the way to the right.
  if (limit.lower && limit.upper) ruler.limit_size = 5 * (*limit.upper - *limit.lower);
  return ruler;
}

std::string binding_words(HeldLimit limit) {
  const auto margin = margin_of(limit);
  if (margin && margin->to_lower) limit.upper.reset();
  if (margin && !margin->to_lower) limit.lower.reset();
  return limit_words(limit);
}

std::string limit_name(const HeldLimit& limit) {
  if (!limit.gauge_pa) return metric_name(limit.metric);
  return metric_name(limit.metric) + ", worst at " + reports::fixed(*limit.gauge_pa / 1000, 0) +
         reports::kNoBreak + "kPa";
}

reports::LimitRow limit_row(const HeldLimit& limit, double ruler_width) {
  const reports::WrittenReading written = written_value(limit);
  std::string value = written.text(metric_unit(limit.metric));
  if (!limit.value && !limit.missing_reason.empty()) value += " " + limit.missing_reason;
  return {.name = limit_name(limit),
          .value = value,
          .limit = binding_words(limit),
          .ruler = draw(ruler_of(limit, ruler_width))};
}

std::optional<double> fad_pressure_kpa(const std::string& metric) {
  const auto gauge_pa = metric.starts_with("fad_") ? analysis::gauge_pa_of(metric) : std::nullopt;
  return gauge_pa ? std::optional(*gauge_pa / 1000) : std::nullopt;
}

ChannelWords words_of(analysis::Role role) {
  static constexpr std::array<ChannelWords, analysis::kRoleCount> kWords{{
      {"Outlet pressure", "kPa gauge", 0.001, 0},
      {"Barometer", "kPa abs.", 0.001, 0},
      {"Flow", "L/min", 60000, 0},
      {"Voltage", "V", 1, 0},
      {"Current", "A", 1, 0},
      {"Speed", "r/min", 60, 0},
      {"Head", "°C", 1, -273.15},
      {"Case", "°C", 1, -273.15},
      {"Ambient", "°C", 1, -273.15},
      {"Humidity", "%", 100, 0},
      {"Seal pressure", "kPa gauge", 0.001, 0},
  }};
  return kWords[static_cast<std::size_t>(role)];
}

std::vector<reports::LiveCell> live_cells(const BenchLive& live, bool trial) {
  using analysis::Role;
  std::vector<reports::LiveCell> cells;
  for (const Role role : {Role::discharge_pressure, Role::flow, Role::supply_current,
                          trial ? Role::case_temperature : Role::supply_voltage, Role::speed,
                          Role::head_temperature}) {
    const ChannelWords words = words_of(role);
    reports::LiveCell cell{words.name, reports::kMissing, words.unit, "no data"};
    for (const LiveValue& value : live.values) {
      if (value.role != role) continue;
      if (!value.value_si) continue;
      cell.value = reports::fixed(*value.value_si * words.factor + words.offset, value.decimals);
      cell.note.clear();
    }
    cells.push_back(std::move(cell));
  }
  return cells;
}

std::string address_part(const std::string& text) {
  static constexpr const char* kDigits = "0123456789ABCDEF";
  std::string out;
  for (const char c : text) {
    const auto byte = static_cast<unsigned char>(c);
    const bool plain = byte < 0x80 && (std::isalnum(byte) != 0 || c == '-' || c == '.' || c == '_');
    if (plain)
      out += c;
    else
      out += {'%', kDigits[byte >> 4U], kDigits[byte & 15U]};
  }
  return out;
}

std::string date_and_minute(std::int64_t utc_ms) {
  const std::time_t seconds = static_cast<std::time_t>(utc_ms / 1000);
  std::tm local{};
  localtime_r(&seconds, &local);
  std::array<char, 32> text{};
  const std::size_t size = std::strftime(text.data(), text.size(), "%Y-%m-%d %H:%M", &local);
  return {text.data(), size};
}

}  // namespace endgate::daemon
