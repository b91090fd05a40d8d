// What has the step under way shown so far?  Running sums for analysis::advise, from frames.
//
// Copying them is one look.  A look is due every analysis::kLook_s of a hold that has settled, from
// the model's least window on; every kLeakLook_s of a leak test, from kLeastLeak_s after it began to
// be watched on.  A leak test that runs beside the step under way is summed up, and looked at once it
// is the step under way itself.  Sums follow the rules of analysis/calibration.h: good samples only,
// gauge pressures and current less their mean in the zero step.

#pragma once

#include <optional>

#include "analysis/advise.h"
#include "analysis/step_sums.h"
#include "daemon/bench/channel_table.h"
#include "daemon/frame.h"

namespace endgate::daemon {

inline constexpr double kLeastLeak_s = 4;
inline constexpr double kLeakLook_s = 0.5;

class StepWatch {
 public:
  StepWatch(const ChannelTable& channels, const analysis::SteadyRule& rule)
      : channels_(channels), rule_(rule) {}

  void begin(std::int64_t start_us) { origin_us_ = newest_us_ = start_us; }
  // `step`: under way since before this frame; its end is open.  `beside` may be null.
  void on_frame(const Frame& frame, const analysis::StepMark& step,
                const analysis::StepMark* beside);
  // When one is due; counts as taken.
  [[nodiscard]] std::optional<analysis::StepSums> look();

 private:
  void take_zero(const Frame& frame, const analysis::StepMark& step);
  void take_dwell(const Frame& frame, const analysis::StepMark& step);
  void take_leak(const Frame& frame, const analysis::StepMark& step);
  [[nodiscard]] std::optional<analysis::StepSums> look_at_leak();
  [[nodiscard]] double case_lag_s() const;
  struct LeakDwell;
  [[nodiscard]] std::optional<LeakDwell>& leak_of(analysis::StepKind kind);
  void take_block(const Frame& frame, const analysis::StepMark& step);
  void add_samples(std::array<analysis::DwellSums, analysis::kRoleCount>& sums, const Frame& frame);
  [[nodiscard]] double resolution_si(std::size_t channel) const;
  [[nodiscard]] double seconds(std::int64_t time_us) const {
    return static_cast<double>(time_us - origin_us_) * 1e-6;
  }

  // The block being filled.
  struct Filling {
    int frames = 0;
    int seal_frames = 0;  // of those, with a seal pressure
    analysis::Block sum;
    double start_s = 0;
  };

  // A leak test since its valve shut.
  struct LeakDwell {
    analysis::StepMark mark;
    double watched_s = 0;
    double next_look_s = 0;
    std::array<analysis::DwellSums, analysis::kRoleCount> sums{};
  };

  const ChannelTable& channels_;
  analysis::SteadyRule rule_;
  std::int64_t origin_us_ = 0;
  std::int64_t newest_us_ = 0;
  std::optional<double> zero_start_s_;
  std::array<analysis::DwellSums, analysis::kRoleCount> zero_{};
  std::optional<double> dwell_start_s_;
  double next_look_s_ = 0;
  double motor_ran_s_ = 0;  // newest frame with the motor on
  std::optional<LeakDwell> back_leak_, seal_leak_;
  std::optional<analysis::StepKind> leak_under_way_;
  Filling filling_;
  analysis::StepSums sums_;
};

}  // namespace endgate::daemon
