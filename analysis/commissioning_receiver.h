// What are the constants of one receiver, as its own long dwells show them?
//
// MODEL      dwells of minutes on one receiver, shut in at several pressures with a unit whose
//            back leak is certified; every dwell j of every test is one run of receiver_gas.h
//
//   p(t) = A_j + p_tight(t; G, C_w, K, tau_e, T_j) - c (p_ref/V) (T_w/T_ref) integral D dt      (1)
//
//     G, C_w, K   conductance at 600 kPa, heat capacity of the wall, wall to room
//     tau_e       evaporation time
//     T_j         temperature by which the gas is warmer than the balance says, a prior of kStart_k
//     c           leak at the reference inlet state per pascal squared of D = p^2 - p_a^2
//
//   The shares of head and compression in the inlet gas and the humidity heat the wall before the
//   dwell; their errors are shared by all dwells and fitted along under their stated u.
//
// INLET      a dwell is nearly free thermometry: shut in without letting down first, the gas is as
//            much warmer than its wall as the inlet made it.  On a known bench dwells after holds
//            at several pressures, with a cold and with a warm head, show both shares; T_j then has
//            a prior of kInletStart_k, that of run-down and valve.
//
//   Wall drift goes with p, a leak with p^2 - p_a^2: dwells at two pressures or more part them.
//
// ESTIMATE  Gauss-Newton in the logarithms of G, C_w, K and tau_e, wide priors (kPrior_ln), blocks
//   of pressure as in pressure_decay.h but finer at the start.  u from the covariance, times the
//   root of chi2/dof where that is above 1, and never below kLeast_u_rel: the form is a model.
//
// Volume is not found here: it scales the gas and its heat together.  It is weighed from outside
// (fixtures/history/commission.h) and checked by expansion (analysis/bench_check.h).
// Refuses as the least squares do, and with missing_step when a test has no complete dwell.

#pragma once

#include <span>
#include <vector>

#include "analysis/context.h"
#include "analysis/outcome.h"
#include "analysis/survey.h"

namespace endgate::analysis {

struct ReceiverLearnt {
  Receiver receiver;  // the guess with what was learnt
  double leak_m3_s_pa2 = 0;
  double u_leak_m3_s_pa2 = 0;
  double inlet_head_share = 0;
  double u_inlet_head_share = 0;
  double inlet_discharge_share = 0;
  double u_inlet_discharge_share = 0;
  std::vector<double> start_k;  // T_j
  std::vector<double> u_start_k;
  double chi_square = 0;
  int degrees_of_freedom = 0;
};

enum class Learn : std::uint8_t {
  everything,
  inlet,       // the two shares alone, wide priors
  start_only,  // G, C_w, K and tau_e stay: for the start excess of a model on a known bench
};

// The surveys outlive the call; all on the receiver of that index.
[[nodiscard]] Outcome<ReceiverLearnt> learn_receiver(std::span<const Survey* const> tests,
                                                     std::size_t receiver, Learn what);

}  // namespace endgate::analysis
