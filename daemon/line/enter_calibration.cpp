#include "daemon/line/enter_calibration.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <optional>
#include <sstream>

namespace endgate::daemon {
namespace {

std::optional<std::vector<double>> numbers_in(std::string line) {
  std::ranges::replace_if(
      line, [](char c) { return c == ',' || c == ';' || c == '\t'; }, ' ');
  std::istringstream words(line);
  std::vector<double> numbers;
  for (std::string word; words >> word;) {
    double value = 0;
    const char* const end = word.data() + word.size();
    const auto read = std::from_chars(word.data(), end, value);
    if (read.ec != std::errc() || read.ptr != end || !std::isfinite(value)) return std::nullopt;
    numbers.push_back(value);
  }
  return numbers;
}

}  // namespace

ReadPoints read_points(const std::string& text, const ShownUnit& unit) {
  std::vector<analysis::CalibrationPoint> points;
  std::istringstream lines(text);
  std::string line;
  for (int number = 1; std::getline(lines, line); ++number) {
    std::erase(line, '\r');
    const auto numbers = numbers_in(line);
    if (numbers && numbers->empty()) continue;
    if (!numbers || numbers->size() != 3)
      return "Line " + std::to_string(number) +
             " of the points is not three numbers: reading, reference, standard u of the "
             "reference.";
    points.push_back({.reading_si = ((*numbers)[0] - unit.offset) / unit.factor,
                      .reference_si = ((*numbers)[1] - unit.offset) / unit.factor,
                      .u_reference_si = (*numbers)[2] / unit.factor});
  }
  return points;
}

Application::AcceptCommand accept_command_of(const Recalibration& made,
                                             const std::string& channel) {
  std::string why = "calibration of " + channel + ", " + std::to_string(made.note.points.size()) +
                    " points, valid until " + made.note.due;
  if (!made.note.reference.empty()) why += ", against " + made.note.reference;
  return {
      .file_name = "calibration " + made.bench, .text = made.text, .by = made.note.by, .why = why};
}

}  // namespace endgate::daemon
