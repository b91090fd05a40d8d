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
#include "daemon/line/bench_texts.h"
#include "schema/store.h"

namespace endgate::daemon {

// shown = factor SI + offset.
struct ShownUnit {
  double factor = 1, offset = 0;
};

// The points, or a sentence that names the line at fault.
using ReadPoints = std::variant<std::vector<analysis::CalibrationPoint>, std::string>;
[[nodiscard]] ReadPoints read_points(const std::string& text, const ShownUnit& unit);

// Why these readings cannot be what they seem; empty: nothing speaks against them.
//
//   - the reference lies outside what the channel measures: another unit
//   - they span less than a twentieth of the channel's range: another unit, or not a calibration
//   - they are those the calibration in force was made from: they were shown by the one before it,
//     and taking them again would correct what is corrected
[[nodiscard]] std::string doubt_about(const schema::StoreReader& store, const BenchTexts& texts,
                                      const std::string& channel,
                                      const std::vector<analysis::CalibrationPoint>& shown);

[[nodiscard]] Application::AcceptCommand accept_command_of(const Recalibration& made,
                                                           const std::string& channel);

}  // namespace endgate::daemon
