// What is there to evaluate in this trace?  Every decision that is taken once.
//
// Which channels may be believed, which stretch of each hold counts, which samples belong to the
// leak tests: decided here on the readings as they are, and not again when inputs are varied for
// the uncertainty (analysis/knobs.h).  So a perturbed run differs by its numbers alone.

#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "analysis/calibration.h"
#include "analysis/context.h"
#include "analysis/evaluation.h"
#include "analysis/hold_ripple.h"
#include "analysis/knobs.h"
#include "analysis/moist_air.h"
#include "analysis/outcome.h"
#include "analysis/pressure_decay.h"
#include "analysis/receiver_gas.h"
#include "analysis/run_down.h"
#include "analysis/window_moments.h"

namespace endgate::analysis {

// Level and slope of every role in one window; of roles that cannot be used, zeros.
using MomentsByRole = std::array<Moments, kRoleCount>;

struct HoldWindow {
  const StepMark* step = nullptr;
  double target_gauge_pa = 0;
  bool rising = false;           // a stretch of a rise (analysis/ramp_windows.h)
  bool outlet_shut = false;      // a pump-up: nothing is metered
  std::optional<Window> window;  // absent: the hold gives no point at all
  bool steady = false;           // false: speed and current may be used, flow may not
  double drift_rel = 0;
  std::string note;
  MomentsByRole moments{};
  double winding_lead_k = 0;  // of the winding over the case, in the middle of the window
  std::uint8_t receiver = kNoReceiver;
  IndexRange grid;                   // samples of the gas readings inside the window
  std::vector<double> grid_weights;  // parabolic, over the grid
  Outcome<HoldRipple> ripple = Refusal{RefusalKind::missing_step, "the hold gave no point", {}};
};

struct LeakWindow {
  const StepMark* step = nullptr;
  Window window;
  std::vector<DecayBlock> blocks;
  MomentsByRole moments{};
  std::uint8_t receiver = kNoReceiver;
  CoolingTime cooling;
};

struct Survey {
  const Context* context = nullptr;
  std::int64_t origin_us = 0;
  SamplesByRole samples;
  std::array<std::string, kRoleCount> sick;  // why the role cannot be used; empty: it can
  GasReadings gas;
  AirState inlet;      // means over the test, for the state of the gas in the receiver
  GasHistory history;  // with every knob at rest
  std::vector<HoldWindow> holds;
  Outcome<LeakWindow> back_leak = Refusal{RefusalKind::missing_step, "no such step", {}};
  Outcome<LeakWindow> seal_leak = Refusal{RefusalKind::missing_step, "no such step", {}};
  // Of the motor, once it was off; refused unless the model asks for something that needs it.
  Outcome<RunDown> run_down = Refusal{RefusalKind::missing_step, "it was not looked for", {}};
  // The bench has no tacho, and the ripple of the current takes its place, hold by hold.
  bool speed_from_ripple = false;

  [[nodiscard]] bool usable(Role role) const { return sick[index_of(role)].empty(); }
};

// `time_s` counts from the origin of the survey.
[[nodiscard]] std::int64_t bench_time_us(const Survey& survey, double time_s);

[[nodiscard]] Survey survey_of(const RawTrace& trace, const Context& context,
                               std::span<const ChannelHealth> health);

// The gas in the receiver with turned knobs.
[[nodiscard]] GasSettings gas_settings(const Survey& survey, const Knobs& knobs);
void follow_gas(const Survey& survey, const Knobs& knobs, GasHistory& history);

// At which the meter's litre is defined, and what a litre of it weighs.
[[nodiscard]] DryReference meter_reference(const BenchFacts& bench);
[[nodiscard]] double meter_density_kg_m3(const BenchFacts& bench);

}  // namespace endgate::analysis
