#include "analysis/standing.h"

#include <algorithm>
#include <utility>

#include "analysis/grade_limit.h"
#include "analysis/grade_words.h"
#include "analysis/limit_subject.h"
#include "analysis/say_number.h"
#include "analysis/standing_combine.h"

namespace endgate::analysis {
namespace {

constexpr const char* kReturned = "returned";

// A unit can only come back if it could leave: after a fail, calling a test "returned" changes
// nothing.
bool came_back(const std::vector<PastTest>& series, const PastTest& test, bool has_passed) {
  const bool has_failed = std::any_of(series.begin(), series.end(), [](const PastTest& earlier) {
    return earlier.verdict == Verdict::fail;
  });
  if (test.purpose != kReturned || series.empty()) return false;
  const bool once_more = series.back().purpose == kReturned;
  return (!once_more || test.after_return) && has_passed && !has_failed;
}

std::vector<PastTest> series_of(std::span<const PastTest> tests) {
  std::vector<PastTest> series;
  bool repaired = false;  // also by a repair before a test that does not count
  bool returned = false;
  bool has_passed = false;  // since the last repair, so that it could leave
  for (const PastTest& each : tests) {
    repaired = repaired || each.after_repair;
    returned = returned || each.after_return;
    if (!counts_for_standing(each.purpose)) continue;
    PastTest test = each;
    test.after_return = std::exchange(returned, false);
    if (repaired) has_passed = false;
    if (std::exchange(repaired, false) || came_back(series, test, has_passed)) series.clear();
    has_passed = has_passed || test.verdict == Verdict::pass;
    series.push_back(std::move(test));
  }
  return series;
}

std::vector<PastTest> valid_tests(const std::vector<PastTest>& series) {
  std::vector<PastTest> valid;
  std::copy_if(series.begin(), series.end(), std::back_inserter(valid),
               [](const PastTest& test) { return test.verdict != Verdict::void_; });
  return valid;
}

Standing standing(StandingWord word, std::string reason) { return {word, std::move(reason)}; }

Standing without_valid_test(std::span<const PastTest> tests, const std::vector<PastTest>& series) {
  if (tests.empty()) return standing(StandingWord::hold, "The unit has not been tested.");
  if (series.empty())
    return standing(StandingWord::hold,
                    "No test of it counts for a standing: tests of purpose reference, lab and "
                    "trial do not.");
  const bool repaired = std::any_of(tests.begin(), tests.end(),
                                    [](const PastTest& test) { return test.after_repair; });
  return standing(StandingWord::hold, repaired ? "No test since the last repair was valid."
                                               : "No test of it was valid yet.");
}

Standing by_single_test(const PastTest& test) {
  const std::string attempt = "Attempt " + std::to_string(test.attempt);
  if (test.verdict == Verdict::pass) return standing(StandingWord::release, attempt + " passed.");
  if (test.verdict == Verdict::fail)
    return standing(StandingWord::reject,
                    attempt + " failed" + (test.deciding.empty() ? "." : ": " + test.deciding));
  return standing(StandingWord::hold, attempt + " could not decide" +
                                          (test.deciding.empty() ? "." : ": " + test.deciding));
}

std::vector<Metric> measured_in(const std::vector<PastTest>& tests, const Limit& limit) {
  std::vector<Metric> measured;
  for (const PastTest& test : tests) measured.push_back(held_metric(limit, test.metrics));
  return measured;
}

// The curve's own u has no parts: all of it counts as shared, and says nothing of the scatter.
Metric mean_at(const std::vector<PastTest>& tests, double gauge_pa) {
  std::vector<Metric> drawn;
  for (const PastTest& test : tests) drawn.push_back(drawn_at(test.drawn, gauge_pa));
  Metric mean = combine(subject_at(gauge_pa), drawn).metric;
  if (!mean.value) mean.missing_reason = "there is no curve";
  return mean;
}

HeldLimit held_band_of_means(const std::vector<PastTest>& tests, const Limit& limit) {
  std::vector<Metric> means;
  for (const BandPoint& point : limit.points) means.push_back(mean_at(tests, point.gauge_pa));
  return hold_band(limit, means);
}

std::size_t with_curve(const std::vector<PastTest>& tests) {
  return static_cast<std::size_t>(std::count_if(
      tests.begin(), tests.end(), [](const PastTest& test) { return !test.drawn.empty(); }));
}

struct Combined {
  Verdict verdict = Verdict::pass;
  HeldLimit deciding;     // of the verdict, when not pass
  std::size_t tests = 0;  // that have the deciding metric
  std::string unstable;   // name of a metric whose values disagree
};

// All reject limits against the means of `tests`.
Combined hold_means(const std::vector<PastTest>& tests, const LimitSet& limits) {
  Combined result;
  struct HeldMean {
    HeldLimit held;
    std::size_t tests = 0;
  };
  const auto take = [&](Verdict verdict, const HeldMean& mean) {
    if (mean.held.outcome.verdict != verdict) return;
    if (result.verdict == verdict && result.deciding.margin_in_u <= mean.held.margin_in_u) return;
    result.verdict = verdict;
    result.deciding = mean.held;
    result.tests = mean.tests;
  };
  std::vector<HeldMean> all;
  for (const Limit& limit : limits.limits) {
    if (limit.severity == Severity::warn) continue;
    if (limit.metric == kCurveSubject) {
      all.push_back({held_band_of_means(tests, limit), with_curve(tests)});
      continue;
    }
    const CombinedMetric combined = combine(limit.metric, measured_in(tests, limit));
    if (!combined.consistent && result.unstable.empty())
      result.unstable = words_of_metric(limit.metric).name;
    all.push_back({hold(combined.metric, limit), combined.tests});
  }
  for (const HeldMean& mean : all) take(Verdict::undecided, mean);
  for (const HeldMean& mean : all) take(Verdict::fail, mean);
  return result;
}

bool explained_by_metrics(const PastTest& test, const LimitSet& limits) {
  return hold_means({test}, limits).verdict == test.verdict;
}

// A test that lacks the metric is in no mean of it.
std::string deciding_words(const Combined& means) {
  const std::string& sentence = means.deciding.outcome.sentence;
  if (means.tests == 0) return sentence;
  if (means.tests == 1) return "In the one test that has it: " + sentence;
  return "Mean of " + std::to_string(means.tests) + " tests: " + sentence;
}

Standing by_means(const std::vector<PastTest>& valid, const LimitSet& limits) {
  const Combined means = hold_means(valid, limits);
  if (!means.unstable.empty())
    return standing(StandingWord::hold,
                    "The tests disagree on " + means.unstable + " by more than chance.");
  if (means.verdict == Verdict::fail) return standing(StandingWord::reject, deciding_words(means));
  if (means.verdict == Verdict::undecided)
    return standing(StandingWord::hold, deciding_words(means));
  if (std::none_of(valid.begin(), valid.end(), [&](const PastTest& test) {
        return test.verdict == Verdict::pass || explained_by_metrics(test, limits);
      }))
    return standing(StandingWord::hold, "No test decided, though the means keep every limit.");
  return standing(StandingWord::release,
                  "The mean of " + std::to_string(valid.size()) + " tests keeps every limit.");
}

std::optional<RetestRefusal> refusal_for(const std::vector<PastTest>& series,
                                         const std::string& reason, bool retest_decided) {
  const auto any = [&](Verdict verdict) {
    return std::any_of(series.begin(), series.end(),
                       [&](const PastTest& test) { return test.verdict == verdict; });
  };
  if (any(Verdict::fail))
    return RetestRefusal{"has_fail", "The unit failed. Record a repair before the next test."};
  if (series.size() >= kMostAttempts && !retest_decided)
    return RetestRefusal{"three_attempts",
                         "Three attempts without a repair. Record a repair or decide on a retest."};
  if (any(Verdict::pass) && reason.empty())
    return RetestRefusal{"has_pass", "The unit has passed. State a reason for another test."};
  return std::nullopt;
}

}  // namespace

bool counts_for_standing(const std::string& purpose) {
  return purpose == "production" || purpose == "retest" || purpose == kReturned;
}

Standing standing_of(std::span<const PastTest> tests, const LimitSet& limits) {
  const std::vector<PastTest> series = series_of(tests);
  const std::vector<PastTest> valid = valid_tests(series);
  if (valid.empty()) return without_valid_test(tests, series);
  if (valid.size() == 1) return by_single_test(valid.front());
  for (const PastTest& test : valid)
    if (test.verdict == Verdict::fail && !explained_by_metrics(test, limits))
      return by_single_test(test);
  return by_means(valid, limits);
}

Standing with_decision(Standing measured, const Decision& newest, bool tested_since,
                       bool valid_since) {
  const std::string why = newest.by + ": " + newest.reason;
  if (newest.word == DecisionWord::scrap)
    return standing(StandingWord::reject, "Scrapped by " + why);
  if (newest.word == DecisionWord::concession && !valid_since)
    return standing(StandingWord::release, "Concession by " + newest.by + " and " +
                                               newest.second_by + ": " + newest.reason);
  if (newest.word == DecisionWord::retest && !tested_since)
    return standing(StandingWord::hold, "A retest was decided by " + why);
  return measured;
}

std::optional<RetestRefusal> retest_refused(std::span<const PastTest> tests,
                                            const std::string& purpose, const std::string& reason,
                                            bool repaired_since,
                                            std::optional<DecisionWord> decided) {
  if (purpose != "production" && purpose != "retest") return std::nullopt;
  if (decided == DecisionWord::scrap)
    return RetestRefusal{"scrapped",
                         "The unit was scrapped. Decide on a retest before it is tested again."};
  if (repaired_since) return std::nullopt;
  return refusal_for(series_of(tests), reason, decided == DecisionWord::retest);
}

}  // namespace endgate::analysis
