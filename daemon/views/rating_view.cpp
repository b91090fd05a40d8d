#include "daemon/views/rating_view.h"

#include "daemon/definitions/typed_number.h"
#include "daemon/views/shown.h"
#include "reports/curve_chart.h"
#include "reports/number.h"

namespace endgate::daemon {
namespace {

constexpr double kLitres = 60000, kKilopascal = 1e-3;
constexpr double kNearlyAll = 1.96;  // standard deviations: 95 % of a normal form

std::optional<double> share_in(const std::string& text, double otherwise) {
  if (text.empty()) return otherwise;
  const std::optional<double> percent = typed_number(text);
  if (!percent || *percent < 50 || *percent > 99.9) return std::nullopt;
  return *percent / 100;
}

// A pressure without a bound breaks the line: nothing is promised there.  The name stands at the end.
template <class Bound>
void add_bound(const RatingTold& told, const char* name, Bound bound, reports::CurveChart& chart) {
  std::vector<reports::OtherCurve> parts(1);
  for (const RatingPoint& point : told.points) {
    if (const auto m3_s = bound(point))
      parts.back().spots.push_back(
          {.pressure = point.pressure_gauge_pa * kKilopascal, .flow = *m3_s * kLitres});
    else if (!parts.back().spots.empty())
      parts.emplace_back();
  }
  if (parts.back().spots.empty()) parts.pop_back();
  if (!parts.empty()) parts.back().name = name;
  chart.others.insert(chart.others.end(), parts.begin(), parts.end());
}

reports::CurveChart chart_of(const RatingTold& told) {
  reports::CurveChart chart{.description = rating_words(told), .unit_label = "mean"};
  for (const RatingPoint& point : told.points) {
    const double pressure = point.pressure_gauge_pa * kKilopascal;
    const double flow = point.told.mean * kLitres;
    chart.curve.push_back({.pressure = pressure,
                           .flow = flow,
                           .expanded_u = kNearlyAll * point.told.sigma_overall * kLitres});
    chart.points.push_back({.pressure = pressure, .flow = flow});
  }
  add_bound(
      told, "lower limit", [](const RatingPoint& point) { return point.told.bounds.lower; }, chart);
  add_bound(
      told, "promise", [](const RatingPoint& point) { return point.promise_m3_s(); }, chart);
  chart.width = 1000;
  chart.height = 400;
  return chart;
}

reports::WordTable numbers_of(const RatingTold& told) {
  reports::WordTable table{.columns = {"Pressure, kPa gauge", "Mean, L/min", "Scatter, L/min",
                                       "At least here", "Whole curve", "To be promised",
                                       "Lower limit", "Units", "Batches", "Count as", "Bound by"}};
  for (const RatingPoint& point : told.points)
    table.rows.push_back(
        {reports::fixed(point.pressure_gauge_pa * kKilopascal, 0),
         reports::fixed(point.told.mean * kLitres, 1),
         reports::fixed(point.told.sigma_overall * kLitres, 2), promised_number(point.lower_m3_s),
         promised_number(point.whole_m3_s),
         promised_number(point.promise_m3_s()) + (point.below_limit() ? ", below" : ""),
         point.told.bounds.lower ? reports::fixed(*point.told.bounds.lower * kLitres, 1)
                                 : reports::kMissing,
         reports::fixed(static_cast<double>(point.told.values.size()), 0),
         reports::fixed(static_cast<double>(point.told.batches), 0),
         reports::fixed(point.told.effective_n, 0), point.by_order ? "order" : "normal"});
  return table;
}

}  // namespace

std::optional<statistics::Coverage> read_coverage(const CoverageAsked& asked) {
  const auto share = share_in(asked.share, 0.99), confidence = share_in(asked.confidence, 0.95);
  if (!share || !confidence) return std::nullopt;
  return statistics::Coverage{*share, *confidence};
}

reports::QuestionForm rating_form(const TestsAsked& asked, const TestsKnown& known,
                                  const CoverageAsked& coverage) {
  reports::QuestionForm form{.action = kRatingAddress, .fields = fields_of(asked, known)};
  form.fields.push_back({.name = "share",
                         .caption = "Share of units, %",
                         .value = coverage.share,
                         .choices = {},
                         .example = "99"});
  form.fields.push_back({.name = "confidence",
                         .caption = "Confidence, %",
                         .value = coverage.confidence,
                         .choices = {},
                         .example = "95"});
  return form;
}

reports::AnswerPage rating_page(const RatingTold& told, reports::QuestionForm form) {
  reports::AnswerPage page{.here = "Population",
                           .heading = "What may a data sheet of " + told.model + " promise?",
                           .form = std::move(form),
                           .statements = {rating_words(told)}};
  if (told.points.empty()) return page;
  const std::vector<std::string> notes = rating_notes(told);
  page.statements.insert(page.statements.end(), notes.begin(),
                         notes.begin() + (told.promises_less() ? 2 : 1));
  page.parts.push_back(
      {.heading = "Delivery over pressure",
       .short_name = "Population mean, 95 % of units shaded, lower tolerance bounds",
       .words =
           {"The line is the mean of all units, shaded the 95 % of units about it, dashed what "
            "may be promised and the lower limit in force."},
       .drawings = {draw(chart_of(told))},
       .table = numbers_of(told)});
  page.parts.push_back({.heading = "What stands behind it",
                        .words = {notes.begin() + (told.promises_less() ? 2 : 1), notes.end()}});
  return page;
}

}  // namespace endgate::daemon
