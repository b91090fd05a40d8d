// What does the hold under way say of a pressure between it and the hold before?
//
// No hold stands at 200 or 400 kPa, yet limits do.  The evaluation draws the curve through the holds;
// a look takes, for flow, speed and current each,
//
//   y(p) = s(p) + (1 - t) (y_0 - s(p_0)) + t (y_1 - s(p_1)) ,   t = (p - p_0)/(p_1 - p_0)       (1)
//
//   s  the nominal unit at reference conditions (analysis/type_model.h): only its bow counts.  Sums,
//      not ratios: at 0 kPa current is mostly friction, which is no measure of that under load
//   0  the hold before, 1 the hold under way
//
//   u_r  that of the hold under way alone, as more dwell can lower no other
//   u_s  those of both holds, in common as they share calibration and thermal state, and the random
//        part of the hold before
//
// Missing without a hold before, or where one of the two looks misses anything.

#pragma once

#include "analysis/advise_look.h"

namespace endgate::analysis {

class Between {
 public:
  // `now`: seen of the hold under way.
  Between(const StepSums& sums, const Context& context, const Seen& now);

  [[nodiscard]] bool covers(double gauge_pa) const;
  [[nodiscard]] std::optional<Seen> at(double gauge_pa) const;

 private:
  const StepSums& sums_;
  const Context& context_;
  Seen now_;
  std::optional<Seen> before_;
};

}  // namespace endgate::analysis
