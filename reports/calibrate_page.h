// The guided page of one channel's calibration: points in, line and residuals to look at, accept.

#pragma once

#include <array>
#include <string>
#include <vector>

#include "reports/node.h"
#include "reports/residual_chart.h"

namespace endgate::reports {

struct ChannelLink {
  std::string words{}, href{};
  bool chosen = false;
};

struct CalibratePage {
  std::string bench{}, channel{}, channel_name{}, unit{}, now{}, version{};
  std::vector<ChannelLink> channels{};
  std::vector<std::array<std::string, 3>>
      rows{};            // reading, reference, u of each point, as entered
  std::string points{};  // the same as lines
  std::string due{}, by{}, reference{};
  std::string refusal{};  // what is wrong with them
  bool fitted = false;
  std::string sentence{};
  std::vector<std::vector<std::string>> old_and_new{}, residuals{};
  ResidualChart chart{};
};

[[nodiscard]] std::string page_of(const CalibratePage& page);

}  // namespace endgate::reports
