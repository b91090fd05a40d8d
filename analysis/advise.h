// Does it pay to go on with the hold, or with the leak test, under way?
//
// One look at running sums, pure, well under a millisecond.  Advice only says when a hold may end.
// It never sets a verdict: the evaluation of the whole trace does, and it sees more (the fit over
// all holds, every cause of uncertainty by itself).
//
// ESTIMATE at the pressure of the hold: flow (with the receiver's storage from the block history,
//   analysis/receiver_gas.h), speed and current, carried to reference conditions, with
//
//   u_r  random: shrinks with dwell, from the channel's noise model or the scatter if larger
//   u_s  what more dwell cannot lower: calibration, the receiver's share, the thermal correction,
//        the form of the curve.  Every cause at its own u, in quadrature: an estimate of what the
//        evaluation will state, not a replacement.
//
// LIMITS it looks at: those on a metric at this pressure, or between it and that of the hold before
//   (analysis/advise_between.h), and the points of the curve's band there, rejecting or warning.  What
//   hangs on this hold but is not weighed here (a relation with a side here, torque, efficiency of the
//   motor, what the current's ripple tells) stays open: such a hold ends by target_met, not by decided.
//   Not looked at: classes, which change no verdict; what is of no hold (dead head, motor constants).
//
// RULE per such limit T; w, w' its guard bands from u = sqrt(u_r^2 + u_s^2)
//
//   pass is certain     y - (T + w)  >  z u_r                                               (1)
//   fail is certain     (T - w') - y >  z u_r
//   it stays undecided  T - w' + z u_r < y < T + w - z u_r     with w, w' from u_s alone     (2)
//
//   z = kSafety: with the looks kLook_s apart, a unit exactly on its acceptance limit is called
//   certain in about 4 % of the tests (with 1.645 in more than a fifth); tests/analysis/
//   advise_rates_test.cpp simulates it with autocorrelated noise.
//
//   decided          every such limit satisfies (1), and there is one
//   cannot_decide    none is open between (1) and (2): more dwell changes nothing
//   target_met       u_r <= kTargetShare u_s for flow, speed and current: more dwell lowers u by
//                    less than a tenth
//   keep_on          otherwise, and always before the least dwell or while the flow drifts by the
//                    rule the evaluation will apply (analysis/steady_window.h)
//
// LEAKS  analysis/advise_leak.h
//
// LEAST DWELL   the model's min_window_s, four correlation times of the flow, twenty turns.
//
// Answers keep_on whenever anything it needs is missing (needed_for_advice).

#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "analysis/context.h"
#include "analysis/step_sums.h"

namespace endgate::analysis {

inline constexpr double kLook_s = 0.25;  // between looks, at least the flow's correlation time
inline constexpr double kSafety = 2.5;
inline constexpr double kTargetShare = 0.4;
inline constexpr double kLeastTurns = 20;
inline constexpr double kSameTarget_pa = 500;

enum class AdviceKind : std::uint8_t { keep_on, decided, target_met, cannot_decide };

struct Advice {
  std::string step_id;
  AdviceKind kind = AdviceKind::keep_on;
  double look_s = 0;  // when the look was taken, from the start of the test

  [[nodiscard]] bool ends_step() const { return kind != AdviceKind::keep_on; }
};

// "target met": how the step mark says it.
[[nodiscard]] const char* word_of(AdviceKind kind);

[[nodiscard]] Advice advise(const StepSums& sums, const Context& context);

// A bench without a channel of one of these roles never advises a step of this kind to end, which
// then lasts as long as the model file says.
[[nodiscard]] std::vector<Role> needed_for_advice(StepKind kind);

// One quantity against one limit, as (1) and (2) see it.
struct Standpoint {
  double value = 0;
  double u_random = 0;
  double u_systematic = 0;
};
enum class Certainty : std::uint8_t { certain, open, never };
[[nodiscard]] Certainty certainty_of(const Standpoint& point, const Limit& limit);

}  // namespace endgate::analysis
