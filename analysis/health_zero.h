// Does a channel read zero when there is nothing to read, before and after?
//
// At the end of the zero step and at the end of the vent everything is off and open: discharge
// pressure, flow, voltage, current and speed are zero whatever the unit is like.
//
//   before  |mean|          >  u_offset + kZero u + s/2 + step      flow and speed, and the voltage
//                                                                   if the supply is shut off
//   after   |mean - before| >  u_offset + kZero hypot(u, u_before) + s/2 + step
//
//   u, s, step   random u of the mean, stated noise of a sample, step of the count
//   s/2          a register that ends at zero cuts half of its noise off and reads 0.4 s high
//
//   flow    kWarmingGas_s of the receiver's volume a second more: gas that a vent has let expand warms
//           again for some seconds and leaves through the meter
//
//   An offset of pressure and current is measured and taken off in every test, so before is no
//   finding for them.  After is judged only where the channel has come to rest: what still falls
//   (gas leaving through the vent, the meter's lag) is no shift.
//
// Not seen: a meter whose zero is below what its register can hold.

#pragma once

#include "analysis/accusation.h"

namespace endgate::analysis {

inline constexpr double kZero = 6;
// V dT/dt / T: half of 60 K in 4 s.  Common practice, no source.
inline constexpr double kWarmingGas_s = 0.05;

// `receiver_m3`: volume of the receiver in use.
[[nodiscard]] MaybeAccusation off_zero(Role role, const Samples& samples, const RawTrace& trace,
                                       double receiver_m3);

}  // namespace endgate::analysis
