// The bytes of a sample block, made by hand.

#pragma once

#include <cstdint>
#include <vector>

#include "daemon/links/sample_block.h"

namespace endgate::tests {

struct MadeBlock {
  std::uint32_t sequence = 1;
  std::uint64_t first_us = 1'000'000;
  std::uint32_t period_ns = 50'000;
  std::vector<daemon::SampleColumn> columns{{daemon::SampleType::int16, {1, 2, 3}}};

  [[nodiscard]] std::vector<std::uint8_t> bytes() const {
    std::vector<std::uint8_t> body;
    put(body, 0x4253, 2);
    put(body, 1, 1);
    put(body, columns.size(), 1);
    put(body, sequence, 4);
    put(body, first_us, 8);
    put(body, period_ns, 4);
    put(body, columns.front().raw.size(), 2);
    for (const auto& column : columns) put(body, static_cast<std::uint64_t>(column.type), 1);
    for (const auto& column : columns)
      for (const std::int32_t raw : column.raw)
        put(body, static_cast<std::uint32_t>(raw),
            column.type == daemon::SampleType::int16 ? 2 : 4);
    std::vector<std::uint8_t> all;
    put(all, body.size(), 4);
    all.insert(all.end(), body.begin(), body.end());
    return all;
  }

 private:
  static void put(std::vector<std::uint8_t>& bytes, std::uint64_t number, int size) {
    for (int i = 0; i < size; ++i) bytes.push_back(static_cast<std::uint8_t>(number >> 8 * i));
  }
};

}  // namespace endgate::tests
