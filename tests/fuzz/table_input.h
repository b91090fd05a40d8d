// Any bytes, given to the readers of result and lot files: the first byte chooses reader and form.

#pragma once

#include <cstdint>
#include <cstdlib>
#include <span>
#include <string_view>

#include "daemon/exchange/read_lots.h"
#include "daemon/exchange/read_results.h"

namespace endgate::tests {

inline void read_as_table(std::span<const std::uint8_t> input) {
  using namespace daemon;
  if (input.empty()) return;
  const std::string_view text{reinterpret_cast<const char*>(input.data()) + 1, input.size() - 1};
  const TableForm form = (input[0] & 1) == 0 ? TableForm::csv : TableForm::json_lines;
  const auto faults =
      (input[0] & 2) == 0 ? read_results(text, form).faults : read_lots(text, form).faults;
  for (const TableFault& fault : faults)
    if (say(fault, "file:").empty()) std::abort();
}

}  // namespace endgate::tests
