#include "daemon/views/risk_view.h"

#include <algorithm>
#include <numeric>

#include "daemon/views/shown.h"
#include "reports/share_bars.h"

namespace endgate::daemon {
namespace {

reports::ShareBar drawn_bar(const std::string& name, double share) {
  return {name, share, share, share, share_drawn_words(share)};
}

reports::AnswerPart together_bars(const UnitRiskTold& told) {
  const statistics::UnitRisk& risk = told.risk;
  reports::AnswerPart part{.heading = "All limits together"};
  part.drawings.push_back(reports::draw_bars(
      {drawn_bar("Good units that fail", *of_good(risk, risk.good_failed)),
       drawn_bar("Good units that stay undecided", *of_good(risk, risk.good_undecided)),
       drawn_bar("Passed units that break a limit", bad_of_passed(risk).value_or(0))},
      "How often a whole unit is judged wrongly"));
  return part;
}

reports::AnswerPart alone_bars(const UnitRiskTold& told) {
  const std::vector<double>& alone = told.risk.good_held_back_alone;
  std::vector<std::size_t> order(alone.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::ranges::stable_sort(order, std::greater<>(), [&](std::size_t i) { return alone[i]; });
  std::vector<reports::ShareBar> bars;
  for (const std::size_t i : order)
    bars.push_back(drawn_bar(metric_name(told.metrics[i]), *of_good(told.risk, alone[i])));
  return {.heading = "Which limit holds good units back",
          .words = {"Share of the good units that would fail or stay undecided if this were the "
                    "only limit."},
          .drawings = {reports::draw_bars(bars, "Good units held back by each limit alone")}};
}

}  // namespace

reports::QuestionForm risk_form(const TestsAsked& asked, const TestsKnown& known) {
  return {.action = kRiskAddress, .fields = fields_of(asked, known)};
}

reports::AnswerPage risk_page_of(const UnitRiskTold& told, reports::QuestionForm form) {
  reports::AnswerPage page{.here = "Population",
                           .heading = "How surely is a whole unit judged?",
                           .form = std::move(form),
                           .statements = words_of(told)};
  if (told.risk.drawn == 0 || !of_good(told.risk, 0)) return page;
  page.parts = {together_bars(told), alone_bars(told)};
  return page;
}

}  // namespace endgate::daemon
