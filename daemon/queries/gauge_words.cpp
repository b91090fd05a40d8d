#include "daemon/queries/gauge_words.h"

#include <algorithm>

#include "analysis/say_number.h"
#include "analysis/statistics/control_limits.h"
#include "daemon/queries/csv.h"

namespace endgate::daemon {
namespace {

using analysis::say_number;
using statistics::Interval;

std::string unit_of(const analysis::MetricFacts& facts) {
  return "\u00A0" + std::string(facts.display_unit);
}

std::string size(const analysis::MetricFacts& facts, double si) {
  return say_number(si * facts.factor, facts.decimals + 2);
}

std::string size_range(const analysis::MetricFacts& facts, const Interval& si) {
  return size(facts, si.low) + " to " + size(facts, si.high) + unit_of(facts);
}

std::string level_of(const analysis::MetricFacts& facts, double si) {
  return say_number(si * facts.factor + facts.offset, facts.decimals + 1) + unit_of(facts);
}

std::string percent(double share, int places = 1) { return say_number(100 * share, places); }

std::string percent_range(const Interval& shares) {
  return percent(shares.low) + " to " + percent(shares.high) + " %";
}

std::string listed_names(const std::vector<std::string>& names) {
  std::string all;
  for (const std::string& name : names) all += (all.empty() ? "" : ", ") + name;
  return all;
}

std::string many_of(std::size_t count, const std::string& one, const std::string& more) {
  return std::to_string(count) + " " + (count == 1 ? one : more);
}

bool by_bench(const GaugeTold& told) { return told.asked.by == StudyAsked::By::bench; }

std::string span_words(const std::vector<StudyTest>& tests) {
  if (tests.empty()) return "";
  const auto [first, last] = std::ranges::minmax(tests, {}, &StudyTest::started_utc_ms);
  const std::string from = csv_utc(first.started_utc_ms).substr(0, 10);
  const std::string to = csv_utc(last.started_utc_ms).substr(0, 10);
  return from == to ? " on " + from : " from " + from + " to " + to;
}

PartWords part_words(const analysis::MetricFacts& facts, std::string name,
                     const statistics::StudyPart& part) {
  return {.name = std::move(name),
          .sigma = size(facts, part.sigma) + unit_of(facts),
          .interval = size_range(facts, part.sigma_95),
          .share = percent(part.share) + " % (" + percent_range(part.share_95) + ")",
          .part = &part};
}

std::string width_words(const GaugeTold& told) {
  const double six = 6 / *told.limit_width;
  const statistics::StudyPart& part = told.study->measurement;
  return "Six standard deviations of the measurement take " + percent(six * part.sigma, 0) +
         " % (" + percent(six * part.sigma_95.low, 0) + " to " +
         percent(six * part.sigma_95.high, 0) + " %) of the width of the limits in force.";
}

void add_missing(std::vector<std::string>& words, const StudyTests& found) {
  if (!found.not_found.empty())
    words.push_back("Without a test here that counts: " + listed_names(found.not_found) + ".");
  if (found.without_value > 0)
    words.push_back(many_of(found.without_value, "test was", "tests were") +
                    " void or had no value, and " +
                    (found.without_value == 1 ? "counts" : "count") + " nowhere.");
  if (found.before_repair > 0)
    words.push_back(
        many_of(found.before_repair, "test before a repair is", "tests before a repair are") +
        " left out.");
}

std::string bias_words(const OneUnitTold& told) {
  const statistics::TypeOneStudy& study = *told.study;
  const std::string how =
      study.biased() ? (study.bias > 0 ? "too high" : "too low") : "not told apart from nothing";
  return "Mean less known value: " + size(*told.metric, study.bias) + unit_of(*told.metric) + " (" +
         size_range(*told.metric, study.bias_95) + "): " + how + ".";
}

// Of neighbouring tests, beyond chance; 0: none.
double likeness_in_order(const OneUnitTold& told) {
  double mean = 0;
  const auto n = static_cast<double>(told.found.tests.size());
  for (const StudyTest& test : told.found.tests) mean += test.value / n;
  std::vector<double> apart;
  for (const StudyTest& test : told.found.tests) apart.push_back(test.value - mean);
  return statistics::likeness_of_neighbours(apart);
}

void add_room(std::vector<std::string>& words, const OneUnitTold& told) {
  const statistics::TypeOneStudy& study = *told.study;
  if (!told.limit_width) {
    words.emplace_back(
        "Not both limits of this metric are known, so nothing is said of their width: give one.");
    return;
  }
  words.push_back("Held against a tenth of the width of the limits to each side (" +
                  size(*told.metric, *told.limit_width) + unit_of(*told.metric) +
                  "): room for repeats alone " + say_number(*study.cg, 2) +
                  ", with the bias taken off " + say_number(*study.cgk, 2) +
                  "; 1.33 and more is common practice.");
}

}  // namespace

std::vector<PartWords> parts_of(const GaugeTold& told) {
  const statistics::GaugeStudy& study = *told.study;
  const std::string place = by_bench(told) ? "bench" : "person";
  std::vector<PartWords> parts{
      part_words(*told.metric, "Repeats, one unit at one " + place, study.repeat),
      part_words(*told.metric, "From " + place + " to " + place, study.bench)};
  if (!study.pooled)
    parts.push_back(part_words(*told.metric, "Single units seen differently by one " + place,
                               study.interaction));
  parts.push_back(part_words(*told.metric, "The measurement: all of these", study.measurement));
  parts.push_back(part_words(*told.metric, "From unit to unit", study.unit));
  return parts;
}

std::string study_words(const GaugeTold& told) {
  const std::string places = by_bench(told) ? many_of(told.places.size(), "bench", "benches")
                                            : many_of(told.places.size(), "person", "people");
  return analysis::capitalised(std::string(told.metric->sentence_name)) + " of " +
         many_of(told.units.size(), "unit", "units") + " of " + told.model + ", " + places + ", " +
         many_of(told.readings.size(), "test", "tests") + span_words(told.found.tests) + ".";
}

std::string verdict_words(const GaugeTold& told) {
  if (!told.study)
    return "No study can be made of this: " + told.no_study + ". Test every unit equally often " +
           (by_bench(told) ? "on each bench" : "by each person") +
           ", or name the units and take only their first repeats.";
  const statistics::GaugeStudy& study = *told.study;
  return "Of all variance " + percent(study.measurement.share) + " % (" +
         percent_range(study.measurement.share_95) +
         ") is the measurement, the rest lies between the units; " +
         (study.categories < 1
              ? "no two kinds of unit can be told apart."
              : many_of(static_cast<std::size_t>(study.categories), "kind", "kinds") +
                    " of unit can be told apart.");
}

std::vector<std::string> doubt_words(const GaugeTold& told) {
  std::vector<std::string> words;
  if (told.study) {
    const statistics::GaugeStudy& study = *told.study;
    const std::string places = by_bench(told) ? "benches" : "people";
    if (!study.bench_known)
      words.push_back("Two " + places +
                      " are a single comparison: read its interval, not its figure.");
    if (study.pooled)
      words.push_back("No sign that " + places + " see single units differently (chance " +
                      analysis::say_probability(study.interaction_p) +
                      "); what there is counts among the repeats.");
    if (study.negative)
      words.emplace_back(
          "A part came out below nothing and is told as 0: it cannot be told apart.");
    if (told.limit_width) words.push_back(width_words(told));
  }
  if (!told.left_out.empty())
    words.push_back("Left out for lack of tests: " + listed_names(told.left_out) + ".");
  if (told.nameless > 0)
    words.push_back(many_of(told.nameless, "test names", "tests name") + " nobody.");
  if (!told.mixed.empty() && told.study)
    words.push_back("Inside the study there were " + listed_names(told.mixed) +
                    "; what they did is among the parts above.");
  add_missing(words, told.found);
  return words;
}

std::string pair_words(const GaugeTold& told, const BenchPair& pair) {
  const std::string names = pair.second + " less " + pair.first + ": ";
  if (!pair.difference) return names + "no answer, " + pair.none + ".";
  const analysis::MetricFacts& facts = *told.metric;
  const statistics::PairedDifference& d = *pair.difference;
  std::string words =
      names + size(facts, d.mean) + unit_of(facts) + " (" + size_range(facts, d.mean_95) +
      ") over " + many_of(static_cast<std::size_t>(d.n), "unit", "units") +
      "; 95 % of single differences lie from " + size_range(facts, d.single_95) + ".";
  if (d.slope_p < 0.05) words += " It changes with the level: the benches differ by a factor.";
  if (told.allowed_difference)
    words += (d.alike() ? " They agree within " : " It is not shown that they agree within ") +
             size(facts, *told.allowed_difference) + unit_of(facts) +
             " (three tenths of the guard band).";
  if (d.n < 10) words += " Ten units and more make a better comparison.";
  return words;
}

std::vector<std::string> words_of(const GaugeTold& told) {
  std::vector<std::string> words{study_words(told), verdict_words(told)};
  if (told.study)
    for (const PartWords& part : parts_of(told))
      words.push_back(part.name + ": standard deviation " + part.sigma + " (" + part.interval +
                      "), " + part.share + " of the variance.");
  for (std::string& doubt : doubt_words(told)) words.push_back(std::move(doubt));
  for (const BenchPair& pair : told.pairs) words.push_back(pair_words(told, pair));
  return words;
}

std::vector<std::string> words_of(const OneUnitTold& told) {
  std::vector<std::string> words{many_of(told.found.tests.size(), "test", "tests") +
                                 " of one unit" +
                                 (told.benches.empty() ? "" : " on " + listed_names(told.benches)) +
                                 span_words(told.found.tests) + ", known value " +
                                 level_of(*told.metric, told.asked.known.value) + "."};
  if (told.study) {
    words.push_back(bias_words(told));
    words.push_back("Repeats: standard deviation " + size(*told.metric, told.study->sigma) +
                    unit_of(*told.metric) + " (" + size_range(*told.metric, told.study->sigma_95) +
                    ").");
    add_room(words, told);
    if (const double alike = likeness_in_order(told); alike > 0)
      words.push_back("Tests that follow each other resemble each other (correlation " +
                      say_number(alike, 1) +
                      "): bench or unit drifted meanwhile, and the mean is of no one time.");
    if (told.study->n < kEnoughOfOneUnit)
      words.push_back("Fewer than " + std::to_string(kEnoughOfOneUnit) +
                      " tests: read the intervals.");
  } else {
    words.push_back("No study can be made of this: " + told.no_study + ".");
  }
  add_missing(words, told.found);
  return words;
}

}  // namespace endgate::daemon
