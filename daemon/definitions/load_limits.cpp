#include <array>

#include "analysis/guard_band.h"
#include "analysis/metric_facts.h"
#include "daemon/definitions/load_text.h"
#include "daemon/definitions/unique_ids.h"

namespace endgate::daemon {
namespace {

// Limits may be written in the metric's SI unit or in the unit people see.
std::optional<double> read_bound(TomlReader& reader, std::string_view key,
                                 const analysis::MetricFacts* metric, bool in_si) {
  const std::optional<double> bound = reader.maybe_number(key);
  if (!bound || metric == nullptr || in_si) return bound;
  return (*bound - metric->offset) / metric->factor;
}

const analysis::MetricFacts* read_metric(TomlReader& reader, analysis::Limit& limit) {
  limit.metric = reader.text("metric");
  const analysis::MetricFacts* metric = analysis::facts_of_metric(limit.metric);
  if (metric == nullptr && reader.sound("metric"))
    reader.complain("metric", "an id of schema/metrics.toml, found \"" + limit.metric + "\"");
  return metric;
}

bool unit_is_si(TomlReader& reader, const analysis::MetricFacts* metric) {
  const std::string unit = reader.text("unit");
  if (metric == nullptr || unit.empty() || unit == metric->si_unit) return true;
  if (unit != metric->display_unit)
    reader.complain("unit", "\"" + std::string(metric->display_unit) + "\" or \"" +
                                std::string(metric->si_unit) + "\", found \"" + unit + "\"");
  return false;
}

void read_bounds(TomlReader& reader, analysis::Limit& limit) {
  const analysis::MetricFacts* metric = read_metric(reader, limit);
  const bool in_si = unit_is_si(reader, metric);
  limit.lower = read_bound(reader, "lower", metric, in_si);
  limit.upper = read_bound(reader, "upper", metric, in_si);
  if (!reader.has("lower") && !reader.has("upper"))
    reader.complain("lower", "a lower bound, an upper bound, or both");
  if (limit.lower && limit.upper && *limit.upper <= *limit.lower)
    reader.complain("upper", "a number above lower");
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

analysis::Limit read_limit(TomlReader& reader, const analysis::Limit& defaults) {
  analysis::Limit limit = defaults;
  read_bounds(reader, limit);
  read_own_guard(reader, limit);
  limit.severity =
      reader.word_or<analysis::Severity>("severity", analysis::Severity::reject, kSeverities);
  return limit;
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
}

}  // namespace

Loaded<LimitFacts> load_limits(std::string_view text, const std::string& file) {
  return load_text<LimitFacts>(text, file, DefinitionKind::limits, read_limits);
}

}  // namespace endgate::daemon
