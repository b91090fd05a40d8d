// Are the temperature sensors where they should be?
//
// While the unit runs its compression heats the head first, its losses the case, and neither the
// room: in a minute or two the head warms more than the case and the case more than the room,
// whatever the unit is like.  Crossed sensors break this order.
//
// RULE    W = level at the end of the last complete hold less level at the start of the first one
//
//   ambient implausible   W_ambient > kRoom_k and W_ambient > W_case
//   case    implausible   W_case    > kMargin_k and W_case > kShare W_head
//
//   A unit that comes hot warms little and gives no finding.  Judged over at least kLeast_s.
//
// Not seen: sensors swapped between two points of the same warmth.

#pragma once

#include "analysis/accusation.h"
#include "analysis/survey.h"

namespace endgate::analysis {

inline constexpr double kRoom_k = 1.5;
inline constexpr double kMargin_k = 2;
inline constexpr double kShare = 0.8;
inline constexpr double kLeast_s = 12;

[[nodiscard]] std::vector<Accusation> out_of_warming_order(const Survey& survey,
                                                           const RawTrace& trace);

}  // namespace endgate::analysis
