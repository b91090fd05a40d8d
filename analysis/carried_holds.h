// What does every hold and stretch of a rise show at reference conditions?
//
// Each is carried at its own gauge pressure (analysis/reference_conditions.h).  Then the hold a rise
// leads to settles its currents and speeds (analysis/rise_end.h): a channel later than stated shows
// them at wrong pressures.  The gap is found beside the type unit, which bends as they do, and taken
// off every stretch in proportion to its slope, kMostOfGap times at most.
//
// Needs a plan without a refusal.  Holds without a window are left out.

#pragma once

#include <vector>

#include "analysis/conclusion.h"
#include "analysis/knobs.h"
#include "analysis/measured.h"
#include "analysis/survey.h"

namespace endgate::analysis {

inline constexpr double kMostOfGap = 4;  // a slope that hardly is one says nothing about the others

// One hold at reference conditions.
struct Carried {
  double gauge_pa = 0;
  double speed_rev_s = 0;
  double current_a = 0;
  double flow_m3_s = 0;
  double weight_u_m3_s = 1;
  bool steady = false;
  double ripple_speed_rev_s = 0;
  std::size_t hold = 0;  // in the survey
  double form_share = 0;
  double beside_m3_s = 0;
  std::vector<double> shared_m3_s{};
  bool rising = false;
  double current_slope_a_s = 0;
  double speed_slope_rev_s2 = 0;
};

[[nodiscard]] std::vector<Carried> carried_holds(const Survey& survey, const Plan& plan,
                                                 const Measured& measured, const Knobs& knobs);

}  // namespace endgate::analysis
