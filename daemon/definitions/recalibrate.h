// What does the calibration text of a bench become when one channel is calibrated anew?
//
// Gain, offset and their u of that channel are replaced and its points, due date and person kept
// beside them; every other line of the text stays as it is, comments too.
//
// The readings are those the pages show: made with the calibration in force.  They are taken back
// to what the bench file alone makes of the raw number, and the line is fitted to that, so that the
// new numbers replace the old ones and do not stand on them.

#pragma once

#include <string>
#include <variant>
#include <vector>

#include "analysis/calibration_fit.h"
#include "daemon/definitions/facts_definition.h"

namespace endgate::daemon {

struct CalibrationEntry {
  std::string channel{};
  std::vector<analysis::CalibrationPoint> shown{};  // readings as the pages show them, SI
  std::string due{}, calibrated{};                  // days
  std::string by{}, reference{};
};

struct Recalibration {
  std::string text{};  // the whole new text
  std::string bench{}, unit{};
  analysis::CalibrationFit fit{};  // of the readings before any calibration
  analysis::ChannelCalibration before{}, after{};
  CalibrationNote note_before{}, note{};
};

// A sentence: no such channel, too few points, a wrong day, a text that must be edited by hand.
using Recalibrated = std::variant<Recalibration, std::string>;
[[nodiscard]] Recalibrated recalibrate(const std::string& text, const CalibrationEntry& entry);

}  // namespace endgate::daemon
