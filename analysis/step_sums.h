// What does the step under way amount to so far, in numbers that grow with no sample kept?
//
// SUMS  of each channel since its dwell began at t_0, tau = t - t_0, d = y - y_first:
//
//   n, sum tau, sum tau^2, sum d, sum tau d, sum tau^2 d, sum d^2                             (1)
//
//   enough for level and slope of analysis/window_moments.h over any window that begins at t_0 and
//   ends after the newest sample: the parabolic weight is tau (T - tau).  They agree with the final
//   evaluation's to 1e-12 of the level.  d instead of y keeps the digits when a large level hardly
//   moves.  u is that of evenly spaced samples with the channel's correlation time.
//
// BLOCKS  of the whole test: means over kBlock_s of what the gas in the receiver follows from; the
//   storage of gas needs the history, and block means keep a look small (a minute: 25 kB).
//
// Unit: SI; time in seconds from the start of the test.

#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "analysis/raw_trace.h"
#include "analysis/role.h"
#include "analysis/sum.h"
#include "analysis/window_moments.h"

namespace endgate::analysis {

inline constexpr double kBlock_s = 0.1;

class DwellSums {
 public:
  DwellSums() = default;
  explicit DwellSums(double start_s) : start_s_(start_s) {}

  void add(double time_s, double value);
  [[nodiscard]] std::size_t count() const { return count_; }
  [[nodiscard]] double start_s() const { return start_s_; }
  // Over [start_s, end_s], end_s beyond the newest sample; missing with fewer than three samples.
  [[nodiscard]] std::optional<Moments> moments(double end_s, const SampleNoise& noise,
                                               double lag_s) const;

 private:
  [[nodiscard]] double scatter(double slope_s) const;

  double start_s_ = 0;
  double first_ = 0;
  double last_tau_ = 0;
  std::size_t count_ = 0;
  Sum tau_, tau2_, d_, tau_d_, tau2_d_, d2_;
};

// One block of the test, means over kBlock_s.
struct Block {
  double time_s = 0;  // mean of its samples
  double gauge_pa = 0;
  double flow_m3_s = 0;  // as metered
  double head_k = 0;
  double ambient_k = 0;
  bool motor_on = false;
  bool outlet_shut = false;
  std::optional<double> seal_gauge_pa{};  // over the samples that had one
};

// A hold that is over, as it ended.
struct HoldBefore {
  double target_gauge_pa = 0;
  std::string receiver;
  double end_s = 0;
  std::array<DwellSums, kRoleCount> dwell{};
};

struct StepSums {
  std::string step_id;
  StepKind kind = StepKind::hold;
  double target_gauge_pa = 0;
  std::string receiver;
  double now_s = 0;                                // the look: end of the window
  std::array<DwellSums, kRoleCount> dwell{};       // since settled; of a leak: since it is watched
  double watched_s = 0;                            // from when on
  std::array<double, kRoleCount> resolution_si{};  // of one count; 0: the channel sends floats
  std::array<double, kRoleCount> zero_si{};  // mean over the zero step; 0 where none is taken off
  std::vector<Block> blocks;
  std::optional<HoldBefore> before{};  // the hold before this one
};

}  // namespace endgate::analysis
