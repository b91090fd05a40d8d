// Do channels show at the same moment what happens at the same moment?
//
// RAMP    When the back pressure climbs from one hold to the next, torque, current and speed follow
//         the pressure at once, whatever the unit is like.  With x = (y - y_0)/(y_1 - y_0), y_0 the
//         level of the half second before and y_1 that of the last 0.3 s of kRamp_s,
//
//           D = integral of (1 - x) dt  -  stated lag                                         (1)
//
//         is how late a channel is, up to a constant of the ramp.  The ramp between the two holds
//         whose currents differ most serves.  Current bends a little against pressure, so it leads:
//
//           expected  D_pressure - D_current = kBend_s,   D_speed = D_current
//
//         A channel further than kLate_s from what both others expect is implausible.
//
// RISE    Where the test has a rise that leads to a hold (analysis/rise_end.h), that serves instead: a
//         channel is late against the pressure by  gap / slope,  if the gap is more than kWarming of
//         the level, which warming makes.  One that is early by kEarlyOnRise_s shows a late pressure.
//
// ARRIVED A rise ends when the pressure is at its target.  One whose samples end more than kShort_pa
//         below is not what the sequence saw: the pressure is implausible.
//
// SHUT    When the outlet is shut for the back leak nothing flows, and the meter's reading dies
//         with its own lag:  integral of (y - y_end) dt / y_0  over kShut_s  is that lag.  Flow
//         is implausible when it exceeds twice the stated one and 0.1 s.
//
// Not seen: lags of slow channels (temperatures, humidity, barometer) and of the seal pressure.

#pragma once

#include "analysis/accusation.h"
#include "analysis/survey.h"

namespace endgate::analysis {

inline constexpr double kRamp_s = 2.5;
inline constexpr double kShut_s = 2;
inline constexpr double kBend_s = 0.08;
inline constexpr double kLate_s = 0.2;
inline constexpr double kLateOnRise_s = 0.25;  // harmless before: the hold settles the rise
inline constexpr double kEarlyOnRise_s = 0.15;
inline constexpr double kShort_pa = 20e3;
inline constexpr double kWarming = 0.004;

[[nodiscard]] std::vector<Accusation> out_of_time(const Survey& survey, const RawTrace& trace);

}  // namespace endgate::analysis
