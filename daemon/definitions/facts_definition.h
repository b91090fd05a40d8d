// Facts a user enters as files and accepts into truth: calibrations and bench constants, model
// corrections, limit sets.  Each accepted text is a new version with who, when and why.

#pragma once

#include <string>
#include <vector>

#include "analysis/context.h"
#include "daemon/definitions/upkeep_definition.h"

namespace endgate::daemon {

// kind = "calibration": one bench's channels and constants as calibrated.
struct CalibrationFacts {
  std::string bench;
  std::vector<std::pair<std::string, analysis::ChannelCalibration>> channels;  // by channel id
  std::vector<std::string> channel_units;      // same order; compared with the bench by context_of
  std::vector<CalibrationNote> channel_notes;  // same order
  std::vector<analysis::Receiver> receivers;
  double seal_volume_m3 = 0;
  double u_seal_volume_rel = 0;
  double fixture_back_leak_m3_s = 0, u_fixture_back_leak_m3_s = 0;
  double fixture_seal_leak_m3_s = 0, u_fixture_seal_leak_m3_s = 0;
};

// kind = "corrections": one model's learned thermal behaviour.
struct CorrectionFacts {
  std::string model;
  analysis::ThermalCorrection thermal;
};

// kind = "limits": one model's limit set.
struct LimitFacts {
  std::string model;
  analysis::LimitSet limits;
};

}  // namespace endgate::daemon
