// Does the flow of a hold still drift more than matters?
//
// MODEL      y_t = level + slope (t - mean t) + e_t, e_t correlated in time with the channel's
//            noise model; least-squares slope over all samples since settling.
// ESTIMATE   drift over `over_s`:      d   = slope over_s
//            its standard uncertainty: u_d = sigma sqrt(12 / n_eff) over_s / length
//            (the slope of evenly spaced samples has variance 12 sigma^2 / (n length^2), n replaced
//            by the effective number; sigma is the stated noise or the scatter, the larger)
// ANSWER     settled when |d| + 2 u_d <= max(max_drift_rel |level|, 6 u_d), over the whole stretch:
//            the rule of analysis/steady_window.h.  A laxer one ends holds that the evaluation then
//            calls not steady, and a whole test stays undecided.
//
// This decides only when a step ends; analysis/ judges the window it uses by itself.

#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "analysis/context.h"

namespace endgate::daemon {

struct Drift {
  double level = 0;        // mean, unit of the channel
  double over_window = 0;  // signed, the same unit
  double u = 0;
};

class DriftWindow {
 public:
  explicit DriftWindow(const analysis::ChannelFacts* facts) : facts_(facts) {}

  void add(std::int64_t time_us, double value);
  [[nodiscard]] double length_s() const;
  // Needs ten samples.
  [[nodiscard]] std::optional<Drift> drift(double over_s) const;
  [[nodiscard]] bool settled(const analysis::SteadyRule& rule) const;

 private:
  [[nodiscard]] double effective_count() const;

  const analysis::ChannelFacts* facts_;  // may be null: white noise of unknown size
  std::vector<double> time_s_;           // since the first sample
  std::vector<double> value_;
  std::int64_t first_us_ = 0;
};

}  // namespace endgate::daemon
