// How do single tests of a study lie: unit beside unit, place beside place?
//
// A column for each unit, in it one mark per test, each place (bench or person) at its own spot
// with its own mark; a line joins the means of one place from unit to unit.  Parallel lines apart:
// places differ.  Lines that cross: single units are seen differently.  Display units.

#pragma once

#include <string>
#include <vector>

#include "reports/node.h"

namespace endgate::reports {

struct StudySpot {
  std::size_t unit = 0, place = 0;
  double value = 0;
};

struct StudyChart {
  std::string description{};  // one sentence, also for a screen reader
  std::string quantity{};     // "Free-air delivery, 400 kPa, L/min"
  std::vector<std::string> units{}, places{};
  std::vector<StudySpot> spots{};
  double width = 1270, height = 340;
};

[[nodiscard]] Node draw(const StudyChart& chart);

}  // namespace endgate::reports
