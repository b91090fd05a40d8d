#include "daemon/views/returns_view.h"

#include "analysis/say_number.h"
#include "daemon/queries/population_words.h"
#include "daemon/queries/returns_words.h"
#include "daemon/views/shown.h"
#include "reports/number.h"

namespace endgate::daemon {
namespace {

constexpr int kFormPoints = 60;

std::string whole(std::int64_t count) { return reports::fixed(static_cast<double>(count), 0); }

reports::ReturnCurve curve_of(const ReturnsTold& told) {
  reports::ReturnCurve curve{.description = back_words(told) + " Share back over months in use.",
                             .oldest_months = told.oldest_months};
  for (const statistics::ShareOut& step : told.steps) {
    const statistics::Interval out = told.times_lack()
                                         ? statistics::Interval{step.share, step.share}
                                         : statistics::share_interval(step);
    curve.steps.push_back({.months = step.time,
                           .back = 100 * (1 - step.share),
                           .low = 100 * (1 - out.high),
                           .high = 100 * (1 - out.low)});
  }
  for (int i = 0; told.form && i <= kFormPoints; ++i) {
    const double months = told.oldest_months * i / kFormPoints;
    curve.form.emplace_back(months, 100 * told.form->returned_by(months));
  }
  return curve;
}

std::vector<reports::AgeRow> ages_of(const ReturnsTold& told) {
  std::vector<reports::AgeRow> rows;
  for (const double months : kAgesTold)
    if (const std::int64_t units = at_risk(told, months); units > 0)
      rows.push_back({reports::fixed(months, 0) + (months == 1 ? " month" : " months"),
                      out_words(told, months), whole(units)});
  return rows;
}

std::vector<reports::TellsRow> metrics_of(const ReturnsTold& told) {
  std::vector<reports::TellsRow> rows;
  for (const ReturnsTold::Tells& tells : told.metrics)
    rows.push_back({.metric = metric_name(std::string(tells.metric->id)),
                    .ratio = ratio_words(tells),
                    .chance = analysis::say_probability(tells.p_adjusted),
                    .returns = whole(tells.back) + " of " + whole(tells.units),
                    .told = tells.told()});
  return rows;
}

}  // namespace

reports::ReturnsShown returns_shown(const ReturnsTold& told, const CauseAgreement& agreement) {
  reports::ReturnsShown shown{
      .back = back_words(told),
      .curve = curve_of(told),
      .form = form_words(told) + (told.form ? " Dashed in the drawing." : ""),
      .ages = ages_of(told),
      .metrics_said = metrics_words(told),
      .metrics = metrics_of(told)};
  if (const std::string left_out = left_out_words(told); !left_out.empty())
    shown.notes.push_back(left_out);
  shown.notes.emplace_back(kReturnsAssume);
  if (!told.without_bound.empty()) shown.metrics_said += " " + without_bound_words(told);
  shown.agreement_said = agreement_words(agreement);
  for (const CauseAgreement::Row& row : agreement.rows)
    shown.agreement.push_back({analysis::capitalised(row.found), whole(row.first.count),
                               whole(row.among_two.count), whole(row.first.of)});
  for (const CauseAgreement::Quarter& quarter : agreement.quarters) {
    const statistics::Interval interval = quarter.first.interval();
    shown.quarters.push_back({name_of(quarter), quarter.first.value(), interval.low, interval.high,
                              share_words(quarter.first)});
  }
  return shown;
}

}  // namespace endgate::daemon
