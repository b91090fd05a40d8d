#include "analysis/commissioning_warm_run.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <span>

#include "analysis/conclusion.h"
#include "analysis/least_squares.h"
#include "analysis/measured.h"
#include "analysis/winding_lead.h"

namespace endgate::analysis {
namespace {

constexpr std::size_t kFewestHolds = 3;
constexpr double kLeastWarming_k = 1;
constexpr double kRow_u = 1e-3;  // of a logarithm; only its being the same for all rows counts
constexpr double kMega = 1e6;    // pressures in MPa: columns of like size
constexpr double kFirstTau_s = 8;
constexpr double kLastTau_s = 300;
constexpr double kTauStep = 1.1;

struct WarmPoint {
  const Survey* survey = nullptr;
  std::size_t run = 0;  // which pressure
  bool nominal_voltage = true;
  double at_s = 0;
  double gauge_pa = 0;
  double ln_ratio = 0;
  double head_k = 0;  // above the inlet
  double case_k = 0;
  double copper_share = 0;
  double ln_speed = 0;    // as it was
  double ln_speed_v = 0;  // at reference voltage
  double ln_current_v = 0;
  double ln_flow = 0;
  double current_by_heat = 0;  // h, once it is learned
};

std::size_t add_points(const Survey& survey, WarmPoint like, std::vector<WarmPoint>& points) {
  Knobs knobs(survey.context->bench.receivers.size());
  const Measured measured = measure(survey, knobs, survey.history);
  const Plan plan = plan_of(survey, measured);
  ModelFacts cold = survey.context->model;
  cold.thermal = {};
  std::size_t added = 0;
  for (std::size_t i = 0; i < survey.holds.size() && plan.type; ++i) {
    if (!survey.holds[i].steady) continue;
    const HoldReading& reading = measured.holds[i];
    const Carry carry = carry_of(cold, plan.sensitivities[i], reading.state, knobs);
    like.survey = &survey;
    like.at_s = survey.holds[i].window->middle_s();
    like.gauge_pa = reading.state.discharge_gauge_pa;
    like.ln_ratio = log_ratio(reading.state);
    like.head_k = reading.state.head_temperature_k - reading.state.inlet_temperature_k;
    like.case_k = reading.state.case_temperature_k - cold.reference.warm_case_temperature_k;
    like.copper_share = plan.sensitivities[i].copper_share;
    like.ln_speed = std::log(reading.speed_rev_s);
    like.ln_speed_v = std::log(reading.speed_rev_s * carry.speed);
    like.ln_current_v = std::log(reading.supply_current_a * carry.current);
    like.ln_flow = std::log(reading.flow_inlet_m3_s);
    points.push_back(like);
    ++added;
  }
  return added;
}

Outcome<std::vector<WarmPoint>> points_of(const WarmUnit& unit) {
  std::vector<WarmPoint> points;
  for (std::size_t run = 0; run < unit.size(); ++run)
    for (const bool nominal : {true, false})
      for (const Survey* survey : nominal ? unit[run].nominal_voltage : unit[run].low_voltage) {
        WarmPoint like;
        like.run = run;
        like.nominal_voltage = nominal;
        if (add_points(*survey, like, points) < kFewestHolds)
          return Refusal{
              RefusalKind::too_few_points, "fewer than three steady holds in a warm run", {}};
      }
  const auto [coldest, warmest] = std::minmax_element(
      points.begin(), points.end(),
      [](const WarmPoint& one, const WarmPoint& other) { return one.case_k < other.case_k; });
  if (points.empty() || !(warmest->case_k - coldest->case_k >= kLeastWarming_k))
    return Refusal{RefusalKind::span_too_narrow, "the unit did not warm up in its runs", {}};
  return points;
}

// Rows of one unit: a level for every run, then the columns asked for.
class Levelled {
 public:
  Levelled(std::size_t runs, std::size_t columns)
      : runs_(runs), columns_(columns), system_(runs + columns) {}

  void add(std::size_t run, std::initializer_list<double> columns, double value) {
    add(run, std::span(columns.begin(), columns.size()), value);
  }
  void add(std::size_t run, std::span<const double> columns, double value) {
    std::vector<double> row(runs_ + columns_, 0);
    row[run] = 1;
    std::copy(columns.begin(), columns.end(), row.begin() + static_cast<std::ptrdiff_t>(runs_));
    system_.add(row, {value, kRow_u});
  }
  [[nodiscard]] Outcome<LinearFit> solve() const { return solve_least_squares(system_); }

 private:
  std::size_t runs_;
  std::size_t columns_;
  LinearSystem system_;
};

struct UnitLearnt {
  double speed_per_case_k = 0;
  double winding_k_w = 0;
  double current_per_case_k = 0;
  double current_per_head_k = 0;
  double current_per_speed = 0;
  double flow_per_head_k = 0;
  double flow_per_head_k_pa = 0;
  double flow_per_speed = 0;
};

// Lead of a winding of so many kelvin per watt; that of none is what the case runs ahead by.
double lead_k(const WarmPoint& point, double k_w, double tau_s) {
  const double ohm = point.survey->context->model.nominal.winding_resistance_ohm;
  return winding_lead_k(*point.survey, WindingHeat{ohm, k_w, tau_s}, point.at_s);
}

Outcome<LinearFit> speed_fit(const std::vector<WarmPoint>& points, std::size_t runs, double tau_s) {
  Levelled system(runs, 2);
  for (const WarmPoint& point : points) {
    if (!point.nominal_voltage) continue;
    const double copper = -kCopperPer_k * point.copper_share;
    const double behind = lead_k(point, 0, tau_s);
    system.add(point.run, {point.case_k, copper * (lead_k(point, 1, tau_s) - behind)},
               point.ln_speed_v - copper * (point.case_k + behind) +
                   point.copper_share * point.current_by_heat);
  }
  return system.solve();
}

bool has_low_voltage(const std::vector<WarmPoint>& points) {
  return std::any_of(points.begin(), points.end(),
                     [](const WarmPoint& point) { return !point.nominal_voltage; });
}

// Columns: case, head, speed; without a low voltage the last is left out.  A run without load only
// keeps its level.
Outcome<LinearFit> current_fit(const std::vector<WarmPoint>& points, std::size_t runs) {
  const std::size_t columns = has_low_voltage(points) ? 3 : 2;
  Levelled system(runs, columns);
  for (const WarmPoint& point : points) {
    std::array<double, 3> row{};
    if (point.ln_ratio > std::log(kUnderLoadRatio))
      row = {point.case_k, point.ln_ratio * point.head_k, point.ln_speed - points.front().ln_speed};
    system.add(point.run, std::span(row.data(), columns), point.ln_current_v);
  }
  return system.solve();
}

Outcome<LinearFit> flow_fit(const std::vector<WarmPoint>& points, std::size_t runs) {
  Levelled system(runs, 3);
  for (const WarmPoint& point : points)
    system.add(point.run,
               {point.head_k, point.head_k * point.gauge_pa / kMega,
                point.ln_speed - points.front().ln_speed},
               point.ln_flow);
  return system.solve();
}

// The part of the current, which the speed needs.
Outcome<UnitLearnt> learn_current(std::vector<WarmPoint>& points, std::size_t runs) {
  const Outcome<LinearFit> current = current_fit(points, runs);
  if (!current) return current.error();
  UnitLearnt learnt;
  learnt.current_per_case_k = current->parameters[runs];
  learnt.current_per_head_k = current->parameters[runs + 1];
  if (has_low_voltage(points)) learnt.current_per_speed = current->parameters[runs + 2];
  for (WarmPoint& point : points)
    point.current_by_heat = learnt.current_per_case_k * point.case_k +
                            learnt.current_per_head_k * point.ln_ratio * point.head_k;
  return learnt;
}

Outcome<UnitLearnt> learn_unit(const std::vector<WarmPoint>& points, std::size_t runs, double tau_s,
                               const UnitLearnt& current) {
  const Outcome<LinearFit> speed = speed_fit(points, runs, tau_s);
  if (!speed) return speed.error();
  const Outcome<LinearFit> flow = flow_fit(points, runs);
  if (!flow) return flow.error();
  UnitLearnt learnt = current;
  learnt.speed_per_case_k = speed->parameters[runs];
  learnt.winding_k_w = speed->parameters[runs + 1];
  learnt.flow_per_head_k = flow->parameters[runs];
  learnt.flow_per_head_k_pa = flow->parameters[runs + 1] / kMega;
  learnt.flow_per_speed = flow->parameters[runs + 2];
  return learnt;
}

using AllPoints = std::vector<std::vector<WarmPoint>>;

Outcome<double> speed_chi_square(const AllPoints& points, std::size_t runs, double tau_s) {
  double total = 0;
  for (const auto& unit : points) {
    const Outcome<LinearFit> fit = speed_fit(unit, runs, tau_s);
    if (!fit) return fit.error();
    total += fit->chi_square;
  }
  return total;
}

Outcome<double> best_tau_s(const AllPoints& points, std::size_t runs) {
  double best = kFirstTau_s;
  double least = std::numeric_limits<double>::infinity();
  for (double tau = kFirstTau_s; tau < kLastTau_s; tau *= kTauStep) {
    const Outcome<double> chi_square = speed_chi_square(points, runs, tau);
    if (!chi_square) return chi_square.error();
    if (*chi_square >= least) continue;
    least = *chi_square;
    best = tau;
  }
  return best;
}

Outcome<Spread> spread_over(const std::vector<UnitLearnt>& units, double UnitLearnt::*member) {
  std::vector<double> values;
  for (const UnitLearnt& unit : units) values.push_back(unit.*member);
  return spread_of(values);
}

Outcome<WarmRunLearnt> joined(const std::vector<UnitLearnt>& units, double tau_s) {
  WarmRunLearnt learnt;
  learnt.winding_s = tau_s;
  const std::pair<double UnitLearnt::*, Spread WarmRunLearnt::*> members[] = {
      {&UnitLearnt::speed_per_case_k, &WarmRunLearnt::speed_per_case_k},
      {&UnitLearnt::winding_k_w, &WarmRunLearnt::winding_k_w},
      {&UnitLearnt::current_per_case_k, &WarmRunLearnt::current_per_case_k},
      {&UnitLearnt::current_per_head_k, &WarmRunLearnt::current_per_head_k},
      {&UnitLearnt::current_per_speed, &WarmRunLearnt::current_per_speed},
      {&UnitLearnt::flow_per_head_k, &WarmRunLearnt::flow_per_head_k},
      {&UnitLearnt::flow_per_head_k_pa, &WarmRunLearnt::flow_per_head_k_pa},
      {&UnitLearnt::flow_per_speed, &WarmRunLearnt::flow_per_speed}};
  for (const auto& [from, to] : members) {
    const Outcome<Spread> spread = spread_over(units, from);
    if (!spread) return spread.error();
    learnt.*to = *spread;
  }
  return learnt;
}

}  // namespace

Outcome<WarmRunLearnt> learn_warm_run(const std::vector<WarmUnit>& units) {
  if (units.size() < 2)
    return Refusal{RefusalKind::too_few_points, "at least two units are needed", {}};
  AllPoints points;
  std::vector<UnitLearnt> learnt;
  const std::size_t runs = units.front().size();
  for (const WarmUnit& unit : units) {
    Outcome<std::vector<WarmPoint>> found = points_of(unit);
    if (!found) return found.error();
    const Outcome<UnitLearnt> current = learn_current(*found, runs);
    if (!current) return current.error();
    points.push_back(*found);
    learnt.push_back(*current);
  }
  const Outcome<double> tau_s = best_tau_s(points, runs);
  if (!tau_s) return tau_s.error();
  for (std::size_t i = 0; i < points.size(); ++i) {
    const Outcome<UnitLearnt> one = learn_unit(points[i], runs, *tau_s, learnt[i]);
    if (!one) return one.error();
    learnt[i] = *one;
  }
  return joined(learnt, *tau_s);
}

}  // namespace endgate::analysis
