#include "daemon/queries/bench_checks.h"

#include <algorithm>
#include <cmath>

#include "analysis/metric_facts.h"
#include "analysis/say_number.h"
#include "daemon/mapping/evaluation_parts.h"
#include "schema/trend_file.h"

namespace endgate::daemon {
namespace {

constexpr std::int64_t kThirtyDaysMs = std::int64_t{30} * 24 * 3600 * 1000;
constexpr std::string_view kCalibration = "calibration ";

// "calibration north@1/flow" -> "calibration north@1"
std::string calibration_in(std::span<const analysis::Metric> metrics) {
  for (const analysis::Metric& metric : metrics)
    for (const analysis::UncertaintyPart& part : metric.parts)
      if (part.cause.starts_with(kCalibration)) return part.cause.substr(0, part.cause.find('/'));
  return {};
}

analysis::ReferenceTest reference_test(std::span<const schema::MetricValue> stored) {
  analysis::ReferenceTest test;
  for (const schema::MetricValue& value : stored) test.metrics.push_back(metric_of(value));
  test.calibration = calibration_in(test.metrics);
  return test;
}

std::string name_of_metric(const std::string& id) {
  const analysis::MetricFacts* facts = analysis::facts_of_metric(id);
  return facts == nullptr ? id : std::string(facts->sentence_name);
}

std::string per_cent(double share) { return analysis::say_number(std::abs(100 * share), 1) + " %"; }

// The tests a level is learned from say which of them they are.
std::string learning_sentence(std::size_t earlier, const std::string& unit,
                              const std::string& bench) {
  const std::string words = "Reference unit " + unit + " is being learned on bench " + bench;
  if (earlier >= analysis::kFewestEarlier) return words + ".";
  return words + ": test " + std::to_string(earlier + 1) + " of " +
         std::to_string(analysis::kFewestEarlier) + ".";
}

// "flow at 400 kPa reads 1.4 % low, allowed 0.3 %"
std::string deviation_words(const analysis::HeldMetric& held) {
  const double change = (held.value - held.expected) / held.expected;
  return name_of_metric(held.metric) + " reads " + per_cent(change) +
         (change < 0 ? " low" : " high") + ", allowed " + per_cent(held.allowed / held.expected);
}

std::string sentence_of(const analysis::ReferenceCheck& check, const std::string& unit,
                        const std::string& bench) {
  const auto worst = std::ranges::max_element(
      check.held, {}, [](const analysis::HeldMetric& held) { return std::abs(held.share()); });
  return "Reference unit " + unit + " on bench " + bench + ": " + deviation_words(*worst) + ".";
}

// Why nothing can be learned from a test; empty when it can.
std::string reason_not_taken(const schema::Record& record, const std::string& unit,
                             std::span<const analysis::ReferenceTest> earlier) {
  const std::string look = " Nothing is learned from it. See that it was " + unit + ", " +
                           record.start.serial + ", that was clamped, and test it again";
  const std::string test = "The test of reference unit " + unit + " on bench " + record.start.bench;
  if (record.verdict == "fail") return test + " failed." + look + ".";
  const auto unlike = analysis::unlike_fellows(reference_test(record.metrics), earlier);
  if (!unlike) return "";
  return test + " does not resemble its earlier ones: " + deviation_words(*unlike) + "." + look +
         "; if this one was right, let the unit be learned anew.";
}

schema::MetricValue expected_value(const analysis::HeldMetric& held) {
  schema::MetricValue value;
  value.id = held.metric;
  value.value = held.expected;
  value.u = held.u_difference;
  value.parts = {{"allowed difference", held.allowed}};
  return value;
}

class BenchUse {
 public:
  BenchUse(const schema::StoreReader& store, std::string bench)
      : store_(store), bench_(std::move(bench)), derived_(schema::TrendReader::open(store)) {}

  [[nodiscard]] std::int64_t since(schema::Position position) const {
    return up_to(store_.last_position()) - up_to(position);
  }

 private:
  [[nodiscard]] std::int64_t up_to(schema::Position position) const {
    const auto known =
        derived_ ? derived_->bench_use(bench_, position) : schema::TrendReader::BenchUse{};
    return known.tests + store_.records_on(bench_, known.up_to, position);
  }

  const schema::StoreReader& store_;
  std::string bench_;
  std::unique_ptr<schema::TrendReader> derived_;
};

void count_uses(BenchKept& kept, const schema::StoreReader& store, const std::string& bench,
                std::span<const std::string> parts) {
  if (parts.empty()) return;
  const BenchUse use(store, bench);
  for (const std::string& part : parts) {
    const KeptCheck* replaced = newest_check(kept.checks, kWearPart, part);
    kept.tests_on_part[part] = use.since(replaced == nullptr ? 0 : replaced->position);
  }
}

std::vector<KeptAlarm> open_alarms_of(const schema::StoreReader& store, const std::string& bench) {
  std::vector<KeptAlarm> alarms = store.open_alarms();
  std::erase_if(alarms, [&](const KeptAlarm& alarm) { return alarm.fact.bench != bench; });
  return alarms;
}

}  // namespace

BenchKept due_on_bench(const schema::StoreReader& store, const std::string& bench,
                       std::span<const std::string> check_kinds,
                       std::span<const std::string> parts) {
  BenchKept kept{.alarms = open_alarms_of(store, bench)};
  const auto add = [&](const std::string& kind, const std::string& subject) {
    if (auto newest = store.newest_bench_check(bench, kind, subject))
      kept.checks.push_back(std::move(*newest));
  };
  for (const std::string& kind : check_kinds) add(kind, "");
  for (const std::string& part : parts) add(kWearPart, part);
  std::ranges::sort(kept.checks, {}, &KeptCheck::position);
  count_uses(kept, store, bench, parts);
  return kept;
}

BenchKept kept_of_bench(const schema::StoreReader& store, const std::string& bench,
                        std::span<const std::string> parts, std::int64_t now_utc_ms) {
  BenchKept kept{.alarms = open_alarms_of(store, bench), .checks = store.bench_checks(bench)};
  count_uses(kept, store, bench, parts);
  kept.tests_in_30_days = store.records_since(bench, now_utc_ms - kThirtyDaysMs);
  kept.withdrawn = events_of(store.withdrawn_about("bench", bench));
  return kept;
}

const KeptCheck* newest_check(std::span<const KeptCheck> checks, const std::string& kind,
                              const std::string& subject) {
  for (std::size_t i = checks.size(); i-- > 0;)
    if (checks[i].fact.kind == kind && (subject.empty() || checks[i].fact.subject == subject))
      return &checks[i];
  return nullptr;
}

std::vector<analysis::ReferenceTest> earlier_reference_tests(std::span<const KeptCheck> checks,
                                                             const std::string& serial) {
  std::vector<analysis::ReferenceTest> tests;
  for (const KeptCheck& check : checks) {
    if (check.fact.kind != kReferenceUnit || check.fact.subject != serial) continue;
    if (check.fact.outcome == kLearnAnew)
      tests.clear();
    else if (check.fact.outcome != word_of(analysis::ControlWord::out_of_control) &&
             check.fact.outcome != kNotTaken)
      tests.push_back(reference_test(check.fact.measured));
  }
  return tests;
}

schema::BenchCheck reference_check_of(const schema::Record& record, const std::string& unit_name,
                                      std::span<const KeptCheck> checks) {
  const std::vector<analysis::ReferenceTest> earlier =
      earlier_reference_tests(checks, record.start.serial);
  const analysis::ReferenceCheck check =
      analysis::check_reference(reference_test(record.metrics), earlier);
  schema::BenchCheck kept{.bench = record.start.bench,
                          .kind = kReferenceUnit,
                          .subject = record.start.serial,
                          .measured = record.metrics};
  for (const analysis::HeldMetric& held : check.held) kept.expected.push_back(expected_value(held));
  kept.outcome = word_of(check.word);
  if (check.word != analysis::ControlWord::learning) {
    kept.text = sentence_of(check, unit_name, record.start.bench);
  } else if (kept.text = reason_not_taken(record, unit_name, earlier); !kept.text.empty()) {
    kept.outcome = kNotTaken;
  } else {
    kept.text = learning_sentence(earlier.size(), unit_name, record.start.bench);
  }
  kept.by = record.start.operator_name.empty() ? "endgate" : record.start.operator_name;
  kept.at = record.finished;
  return kept;
}

}  // namespace endgate::daemon
