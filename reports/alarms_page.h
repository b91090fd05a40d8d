// Which alarms want an answer?

#pragma once

#include <string>
#include <vector>

namespace endgate::reports {

struct AlarmRow {
  std::string number{}, bench{}, text{}, since{};
  std::string kind{};   // "motor state unknown"
  std::string owner{};  // empty: nobody has taken it
};

// `alarms`: unanswered ones first.
[[nodiscard]] std::string alarms_page(const std::vector<AlarmRow>& alarms);

}  // namespace endgate::reports
