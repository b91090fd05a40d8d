#include <algorithm>
#include <array>

#include "analysis/guard_band.h"
#include "analysis/limit_subject.h"
#include "analysis/metric_facts.h"
#include "daemon/definitions/load_text.h"
#include "daemon/definitions/unique_ids.h"

namespace endgate::daemon {
namespace {

// How numbers of one metric stand in the file: in its SI unit or in the unit people see.
struct Written {
  const analysis::MetricFacts* metric = nullptr;  // nullptr: after a complaint
  bool in_si = true;

  [[nodiscard]] double si(double number) const {
    return metric == nullptr || in_si ? number : (number - metric->offset) / metric->factor;
  }
  [[nodiscard]] double factor() const { return metric == nullptr || in_si ? 1 : metric->factor; }
};

std::optional<double> read_bound(TomlReader& reader, std::string_view key, const Written& written) {
  const std::optional<double> bound = reader.maybe_number(key);
  return bound ? std::optional(written.si(*bound)) : std::nullopt;
}

const analysis::MetricFacts* read_metric(TomlReader& reader, std::string_view key,
                                         const std::string& id) {
  const analysis::MetricFacts* metric = analysis::facts_of_metric(id);
  if (metric == nullptr && reader.sound(key))
    reader.complain(key, "an id of schema/metrics.toml, found \"" + id + "\"");
  return metric;
}

bool unit_is_si(TomlReader& reader, std::string_view key, const analysis::MetricFacts* metric) {
  const std::string unit = reader.text(key);
  if (metric == nullptr || unit.empty() || unit == metric->si_unit) return true;
  if (unit != metric->display_unit)
    reader.complain(key, "\"" + std::string(metric->display_unit) + "\" or \"" +
                             std::string(metric->si_unit) + "\", found \"" + unit + "\"");
  return false;
}

void expect_bounds(TomlReader& reader, const std::optional<double>& lower,
                   const std::optional<double>& upper) {
  if (!reader.has("lower") && !reader.has("upper"))
    reader.complain("lower", "a lower bound, an upper bound, or both");
  if (lower && upper && *upper <= *lower) reader.complain("upper", "a number above lower");
}

// metric = "curve": a band of free-air delivery, point by point.
void read_band(TomlReader& reader, analysis::Limit& limit) {
  const analysis::MetricFacts* flow = analysis::facts_of_metric("fad_0");
  const Written written{flow, unit_is_si(reader, "unit", flow)};
  constexpr NumberRange kGauge{.min = 0, .max = 2'000'000};
  const std::size_t count = reader.each("point", [&](TomlReader& part) {
    analysis::BandPoint point{.gauge_pa = part.number("gauge_pa", kGauge),
                              .lower = read_bound(part, "lower", written),
                              .upper = read_bound(part, "upper", written)};
    expect_bounds(part, point.lower, point.upper);
    if (!limit.points.empty() && part.sound("gauge_pa") &&
        point.gauge_pa <= limit.points.back().gauge_pa)
      part.complain("gauge_pa", "points in ascending order");
    limit.points.push_back(point);
  });
  if (count < 2) reader.complain("point", "at least two tables [[limit.point]]");
}

// against = "fad_600": bounds on y - (slope x + intercept), in the units of the file.
void read_relation(TomlReader& reader, analysis::Limit& limit, const Written& y) {
  const std::string against = reader.text("against");
  const analysis::MetricFacts* metric = read_metric(reader, "against", against);
  const Written x{metric, unit_is_si(reader, "against_unit", metric)};
  if (against == limit.metric) reader.complain("against", "another metric than \"metric\"");
  for (const analysis::MetricFacts* facts : {y.metric, metric})
    if (facts != nullptr && facts->offset != 0)
      reader.complain("against", "metrics whose units begin at zero");
  const double slope = reader.number("slope");
  const double intercept = reader.number_or("intercept", 0);
  limit.slope = slope * x.factor() / y.factor();
  limit.intercept = intercept / y.factor();
  limit.metric = analysis::relation_subject(limit.metric, against);
}

void read_bounds(TomlReader& reader, analysis::Limit& limit) {
  limit.metric = reader.text("metric");
  if (limit.metric == analysis::kCurveSubject) return read_band(reader, limit);
  const analysis::MetricFacts* metric = read_metric(reader, "metric", limit.metric);
  const Written written{metric, unit_is_si(reader, "unit", metric)};
  if (reader.has("against")) read_relation(reader, limit, written);
  limit.lower = read_bound(reader, "lower", written);
  limit.upper = read_bound(reader, "upper", written);
  expect_bounds(reader, limit.lower, limit.upper);
}

// How a file may say how wide the guard bands are; analysis/guard_band.h turns risks and costs into
// factors of u, and the limit set keeps those.
enum class Guard { none, factor, risk, cost };
constexpr std::array<NamedValue<Guard>, 4> kGuards{{{"none", Guard::none},
                                                    {"factor", Guard::factor},
                                                    {"risk", Guard::risk},
                                                    {"cost", Guard::cost}}};
constexpr std::array<NamedValue<analysis::Severity>, 2> kSeverities{
    {{"reject", analysis::Severity::reject}, {"warn", analysis::Severity::warn}}};

// A negative factor is a relaxed limit.
constexpr NumberRange kGuardFactor{.min = -5, .max = 5};
constexpr NumberRange kRisk{.min = 1e-6, .max = 0.5};
constexpr NumberRange kCostRatio{.min = 1e-3, .max = 1e6};

// 0 only after a complaint: the ranges hold what the two functions take.
double factor_of(const analysis::Outcome<double>& factor) { return factor ? *factor : 0; }

void read_factors(TomlReader& reader, Guard guard, analysis::Limit& limit) {
  limit.guard = guard == Guard::none ? analysis::GuardRule::none : analysis::GuardRule::factor;
  if (guard == Guard::factor) {
    limit.pass_factor = reader.number("pass_factor", kGuardFactor);
    limit.fail_factor = reader.number("fail_factor", kGuardFactor);
  } else if (guard == Guard::risk) {
    using analysis::guard_factor_at_risk;
    limit.pass_factor = factor_of(guard_factor_at_risk(reader.number("consumer_risk", kRisk)));
    limit.fail_factor = factor_of(guard_factor_at_risk(reader.number("producer_risk", kRisk)));
  } else if (guard == Guard::cost) {
    using analysis::guard_factor_at_cost;
    limit.pass_factor =
        factor_of(guard_factor_at_cost(reader.number("escape_cost_ratio", kCostRatio)));
    limit.fail_factor =
        factor_of(guard_factor_at_cost(reader.number("rejection_cost_ratio", kCostRatio)));
  }
}

// What the head of the file says for all limits that do not say otherwise.
analysis::Limit read_defaults(TomlReader& root) {
  analysis::Limit limit;
  read_factors(root, root.word<Guard>("guard", kGuards), limit);
  return limit;
}

// A limit of its own rule states the whole of it; one that only states a factor changes that.
void read_own_guard(TomlReader& reader, analysis::Limit& limit) {
  if (reader.has("guard")) return read_factors(reader, reader.word<Guard>("guard", kGuards), limit);
  limit.pass_factor = reader.number_or("pass_factor", limit.pass_factor, kGuardFactor);
  limit.fail_factor = reader.number_or("fail_factor", limit.fail_factor, kGuardFactor);
}

// A limit of a class is there to be reached, so it has no severity.
analysis::Limit read_class_limit(TomlReader& reader, const analysis::Limit& defaults) {
  analysis::Limit limit = defaults;
  read_bounds(reader, limit);
  read_own_guard(reader, limit);
  return limit;
}

analysis::Limit read_limit(TomlReader& reader, const analysis::Limit& defaults) {
  analysis::Limit limit = read_class_limit(reader, defaults);
  limit.severity =
      reader.word_or<analysis::Severity>("severity", analysis::Severity::reject, kSeverities);
  return limit;
}

// A bound of a class beyond that of the set would never be asked.
void expect_narrower(TomlReader& reader, const analysis::Limit& limit,
                     const std::vector<analysis::Limit>& set) {
  const auto wide = std::ranges::find(set, limit.metric, &analysis::Limit::metric);
  if (wide == set.end()) return;
  if (limit.lower && wide->lower && *limit.lower < *wide->lower)
    reader.complain("lower", "no lower bound below that of the set");
  if (limit.upper && wide->upper && *limit.upper > *wide->upper)
    reader.complain("upper", "no upper bound above that of the set");
}

void read_classes(TomlReader& root, const analysis::Limit& defaults, analysis::LimitSet& set) {
  UniqueIds names;
  root.each("class", [&](TomlReader& part) {
    analysis::LimitClass& made = set.classes.emplace_back();
    made.name = part.text("name");
    names.expect_new(part, "name", made.name);
    UniqueIds subjects;
    const std::size_t count = part.each("limit", [&](TomlReader& reader) {
      made.limits.push_back(read_class_limit(reader, defaults));
      subjects.expect_new(reader, "metric", made.limits.back().metric);
      expect_narrower(reader, made.limits.back(), set.limits);
    });
    if (count == 0) part.complain("limit", "at least one [[class.limit]]");
  });
}

void read_limits(TomlReader& root, LimitFacts& facts) {
  facts.model = root.text("model");
  const analysis::Limit defaults = read_defaults(root);
  UniqueIds metrics;
  const std::size_t count = root.each("limit", [&](TomlReader& reader) {
    facts.limits.limits.push_back(read_limit(reader, defaults));
    metrics.expect_new(reader, "metric", facts.limits.limits.back().metric);
  });
  if (count == 0) root.complain("limit", "at least one [[limit]]");
  read_classes(root, defaults, facts.limits);
}

}  // namespace

Loaded<LimitFacts> load_limits(std::string_view text, const std::string& file) {
  return load_text<LimitFacts>(text, file, DefinitionKind::limits, read_limits);
}

}  // namespace endgate::daemon
