// The points of a calibration as a person writes them, and what accepting it needs.
//
// One point a line: reading, value of the reference, standard u (k = 1) of the reference; comma,
// semicolon or blanks between them.

#pragma once

#include <string>
#include <variant>
#include <vector>

#include "daemon/definitions/recalibrate.h"
#include "daemon/line/application.h"

namespace endgate::daemon {

// shown = factor SI + offset.
struct ShownUnit {
  double factor = 1, offset = 0;
};

// The points, or a sentence that names the line at fault.
using ReadPoints = std::variant<std::vector<analysis::CalibrationPoint>, std::string>;
[[nodiscard]] ReadPoints read_points(const std::string& text, const ShownUnit& unit);

[[nodiscard]] Application::AcceptCommand accept_command_of(const Recalibration& made,
                                                           const std::string& channel);

}  // namespace endgate::daemon
