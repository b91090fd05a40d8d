// Any bytes, given to what reads a request head and its target.

#pragma once

#include <cstdint>
#include <cstdlib>
#include <span>
#include <string>

#include "daemon/service/head_scan.h"
#include "daemon/service/parse_head.h"
#include "daemon/service/target.h"

namespace endgate::tests {

inline void read_as_request_head(std::span<const std::uint8_t> input) {
  using namespace daemon;
  const std::string bytes(input.begin(), input.end());
  const HeadScan scan = scan_head(bytes);
  if ((scan.state == HeadScan::State::refused) == scan.sentence.empty()) std::abort();
  if (scan.state != HeadScan::State::complete) return;
  if (scan.length == 0 || scan.length > bytes.size() || scan.length > kHeadLimit) std::abort();
  const auto head = parse_head(bytes.substr(0, scan.length));
  if (!head) return;
  const auto target = parse_target(head->target);
  if (!target) return;
  for (const std::string& segment : target->path)
    if (segment == ".." || segment == "." || segment.find('/') != std::string::npos ||
        !is_plain_text(segment))
      std::abort();
}

}  // namespace endgate::tests
