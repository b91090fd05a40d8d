#include "daemon/views/risk_view.h"

#include <algorithm>
#include <numeric>

#include "analysis/say_number.h"
#include "daemon/views/shown.h"
#include "reports/share_bars.h"

namespace endgate::daemon {
namespace {

constexpr double kLeastSaid = 1e-4;  // fewer draws are behind less

std::string share_said(double share) {
  if (share < kLeastSaid) return "under 0.01\u00A0%";
  return analysis::say_number(100 * share, share < 0.1 ? 2 : 1) + "\u00A0%";
}

reports::ShareBar drawn_bar(const std::string& name, double share) {
  return {name, share, share, share, share_said(share)};
}

reports::AnswerPart together_bars(const UnitRiskTold& told) {
  const statistics::UnitRisk& risk = told.risk;
  const double good = 1 - risk.bad;
  reports::AnswerPart part{.heading = "All limits together"};
  part.drawings.push_back(reports::draw_bars(
      {drawn_bar("Good units that fail", risk.good_failed / good),
       drawn_bar("Good units that stay undecided", risk.good_undecided / good),
       drawn_bar("Passed units that break a limit", risk.bad_passed / std::max(risk.pass, 1e-9))},
      "How often a whole unit is judged wrongly"));
  return part;
}

reports::AnswerPart alone_bars(const UnitRiskTold& told) {
  const double good = 1 - told.risk.bad;
  const std::vector<double>& alone = told.risk.good_held_back_alone;
  std::vector<std::size_t> order(alone.size());
  std::iota(order.begin(), order.end(), std::size_t{0});
  std::ranges::stable_sort(order, std::greater<>(), [&](std::size_t i) { return alone[i]; });
  std::vector<reports::ShareBar> bars;
  for (const std::size_t i : order)
    bars.push_back(drawn_bar(metric_name(told.metrics[i]), alone[i] / good));
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
  if (told.risk.drawn == 0) return page;
  page.parts = {together_bars(told), alone_bars(told)};
  return page;
}

}  // namespace endgate::daemon
