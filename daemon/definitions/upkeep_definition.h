// What must be looked after on a bench, and what happens when it was not?

#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "analysis/calibration_fit.h"

namespace endgate::daemon {

// How a calibration of one channel was found; stands beside its numbers and drives no evaluation.
struct CalibrationNote {
  std::string due;         // "2027-02-14": the last day on which it is valid; empty: none stated
  std::string calibrated;  // day it was found; empty: not stated
  std::string by;
  std::string reference;  // what it was held against
  // Readings as the bench file scales them, before any calibration.
  std::vector<analysis::CalibrationPoint> points;
};

struct ReferenceUnitDefinition {
  std::string serial;
  std::string name;  // "R1"
};

// A check that a person makes and enters.
struct DueCheck {
  std::string kind;  // fixture_leak, flow_nozzle, receiver_volume
  int every_days = 0;
};

// What wears by being used: a coupling, a valve.  Uses are counted from the tests kept.
struct WearPart {
  std::string id;
  std::string name;
  int uses_per_test = 1;
  std::int64_t due_after_uses = 0;
};

enum class UpkeepAnswer : std::uint8_t { block, warn, ignore };

// [upkeep] of service.toml.  A bench out of control always blocks; that is no matter of policy.
struct UpkeepPolicy {
  UpkeepAnswer overdue_calibration = UpkeepAnswer::warn;
  UpkeepAnswer overdue_check = UpkeepAnswer::warn;
  UpkeepAnswer worn_part = UpkeepAnswer::warn;
  UpkeepAnswer reference_check = UpkeepAnswer::warn;  // none made within ...
  double reference_check_within_h = 12;               // ... so many hours, a shift and a half
};

}  // namespace endgate::daemon
