// Does the tacho read the speed that the motor's current shows?
//
// Per hold with a sure lock: |tacho - ripple| within kAgreement of the u of both, calibration of
// the tacho and clock of the waveform included.  The tacho is accused when at least kLeastDisagree
// holds disagree and none agrees: one false lock accuses nobody, and no unit turns its crank at
// another speed than its current says.  A wrong commutation number in the model file looks the
// same, so the sentence names both.

#pragma once

#include "analysis/accusation.h"
#include "analysis/survey.h"

namespace endgate::analysis {

inline constexpr double kAgreement = 4;
inline constexpr int kLeastDisagree = 2;

[[nodiscard]] std::vector<Accusation> tacho_contradicts_ripple(const Survey& survey,
                                                               const RawTrace& trace);

}  // namespace endgate::analysis
