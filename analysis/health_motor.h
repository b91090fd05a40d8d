// Do voltage, current and speed fit each other from load to load?
//
// MODEL   V = V_0 - R_s I          supply with its cables
//         V = V_b + R I + k N      motor
//
//   So over the holds and the stretches of a rise of one test, whose loads differ, V is linear in I, N in I, and N in V, with
//   constants that nobody need know: whatever V_0, R_s, V_b, R and k the supply and this unit have.
//   Warming of the winding bends the lines with N a little.
//
// RULE    E_xy = largest residual of the line of y on x, as a share of the span of y, holds without
//         the run-in of a second; at least kLeastLoads of them
//
//   a pair is broken   E_VI > kBroken_VI, kBroken_N for the pairs with N
//   voltage implausible  V, I broken, and E of I, N less than half of that; or all three broken:
//                        the supply itself may have stepped
//   current implausible  V, I broken otherwise
//   speed implausible    both pairs with N broken, V, I not
//   speed implausible  N off by more than kFar from what V and I of the nominal motor say: no other
//                      winding in the family explains that
//
//   A pair whose spans are within kSpan of what noise does says nothing.
//
// Not seen: a gain or an offset that is the same under all loads.  The motor of this unit explains it.

#pragma once

#include "analysis/accusation.h"
#include "analysis/survey.h"

namespace endgate::analysis {

inline constexpr std::size_t kLeastLoads = 4;
inline constexpr double kBroken_VI = 0.05;
inline constexpr double kBroken_N = 0.08;
inline constexpr double kSpan = 40;
inline constexpr double kFar = 3;

[[nodiscard]] std::vector<Accusation> motor_contradictions(const Survey& survey,
                                                           const RawTrace& trace);

}  // namespace endgate::analysis
