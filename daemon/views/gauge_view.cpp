#include "daemon/views/gauge_view.h"

#include <algorithm>

#include "daemon/queries/gauge_words.h"
#include "daemon/views/shown.h"
#include "reports/path_chart.h"
#include "reports/share_bars.h"
#include "reports/study_chart.h"

namespace endgate::daemon {
namespace {

constexpr const char* kHeading = "How much of it is the measurement?";

std::string quantity_of(const analysis::MetricFacts& facts) {
  return std::string(facts.name) + ", " + std::string(facts.display_unit);
}

reports::StudyChart chart_of(const GaugeTold& told) {
  reports::StudyChart chart{
      .description = study_words(told) + " One mark per test, lines join the means.",
      .quantity = quantity_of(*told.metric),
      .units = told.units,
      .places = told.places};
  for (const statistics::StudyReading& reading : told.readings)
    chart.spots.push_back({static_cast<std::size_t>(reading.unit),
                           static_cast<std::size_t>(reading.bench),
                           shown_value(std::string(told.metric->id), reading.value)});
  return chart;
}

reports::AnswerPart shares_part(const GaugeTold& told) {
  reports::AnswerPart part{.heading = "Where the scatter comes from",
                           .short_name = "Gauge repeatability and reproducibility, crossed study",
                           .words = doubt_words(told)};
  std::vector<reports::ShareBar> bars;
  part.table.columns = {"Part", "Standard deviation", "Its 95 % interval",
                        "Share of the variance, 95 % interval"};
  for (const PartWords& words : parts_of(told)) {
    bars.push_back({.name = words.name,
                    .share = words.part->share,
                    .low = words.part->share_95.low,
                    .high = words.part->share_95.high,
                    .said = words.share});
    part.table.rows.push_back({words.name, words.sigma, words.interval, words.share});
  }
  part.drawings.push_back(reports::draw_bars(bars, "Shares of the variance by part"));
  return part;
}

reports::AnswerPart how_a_study_is_made() {
  return {.heading = "How a study is made",
          .words = {"Take ten units or more that differ as much as production makes them.",
                    "Test each of them two or three times on every bench, in random order, taken "
                    "off and clamped anew each time. For a study of people, each person does so.",
                    "Tests of purpose lab count, unless the form names the units: then every "
                    "purpose does. A trial of the lab is kept as purpose lab."}};
}

reports::AnswerPart pairs_part(const GaugeTold& told) {
  reports::AnswerPart part{.heading = "Bench against bench, over units that were on both"};
  for (const BenchPair& pair : told.pairs) part.words.push_back(pair_words(told, pair));
  return part;
}

}  // namespace

reports::QuestionForm gauge_form(const StudyQuestion& question, const TestsKnown& known) {
  reports::QuestionForm form{.action = kGaugeAddress, .button = "Show"};
  form.fields = fields_of(question.tests, known);
  form.fields.insert(form.fields.begin() + 1, metric_field(question.tests.metric));
  const auto typed = [&](const char* name, const char* caption, const std::string& value,
                         const char* example) {
    form.fields.push_back(
        {.name = name, .caption = caption, .value = value, .choices = {}, .example = example});
  };
  typed("units", "Units", question.serials, "serials; all");
  form.fields.push_back({.name = "by",
                         .caption = "By",
                         .value = question.by.empty() ? "bench" : question.by,
                         .choices = {{"bench", "bench"}, {"person", "person"}}});
  typed("repeats", "First repeats only", question.repeats, "all");
  const std::string unit = metric_unit(question.tests.metric);
  typed("known", ("Known value of one unit, " + unit).c_str(), question.known, "none");
  return form;
}

reports::AnswerPage gauge_page(const GaugeTold& told, reports::QuestionForm form) {
  reports::AnswerPage page{.here = "Population",
                           .heading = kHeading,
                           .form = std::move(form),
                           .statements = {verdict_words(told), study_words(told)}};
  if (told.study)
    page.parts.push_back(shares_part(told));
  else
    for (const std::string& doubt : doubt_words(told)) page.statements.push_back(doubt);
  if (!told.study) page.parts.push_back(how_a_study_is_made());
  if (!told.readings.empty())
    page.parts.push_back(
        {.heading = "Every test of the study", .drawings = {draw(chart_of(told))}});
  if (!told.pairs.empty()) page.parts.push_back(pairs_part(told));
  return page;
}

reports::AnswerPage one_unit_page(const OneUnitTold& told, reports::QuestionForm form) {
  reports::AnswerPage page{.here = "Population",
                           .heading = "One unit against its known value",
                           .form = std::move(form),
                           .statements = words_of(told)};
  if (told.found.tests.empty()) return page;
  const std::string metric(told.metric->id);
  const double known = shown_value(metric, told.asked.known.value);
  reports::PathChart chart{.description = "Every test of the unit in order, and its known value.",
                           .quantity = quantity_of(*told.metric),
                           .time_title = "Test, in order",
                           .limits = {{.at = known, .words = "known value"}},
                           .until = static_cast<double>(told.found.tests.size())};
  for (const StudyTest& test : told.found.tests)
    chart.spots.push_back({.time = static_cast<double>(chart.spots.size() + 1),
                           .value = shown_value(metric, test.value)});
  page.parts.push_back({.heading = "Every test", .drawings = {draw(chart)}});
  return page;
}

}  // namespace endgate::daemon
