// A bench for tests: short words for what a client and a hand do.

#pragma once

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "fixtures/bench/instruments/instruments.h"

namespace simbench {

inline InstrumentsOptions quiet_options() {
  InstrumentsOptions options;
  options.error_scale = 0;
  options.noise_scale = 0;
  return options;
}

struct TestBench {
  explicit TestBench(const InstrumentsOptions& options = {}) : instruments(options) {}

  Instruments instruments;

  std::optional<Exception> write(std::uint16_t address, std::uint16_t value) {
    return instruments.write(address, {&value, 1});
  }
  [[nodiscard]] std::uint16_t input_at(std::uint16_t address) const {
    return std::get<Words>(instruments.read(Function::read_input, address, 1)).at(0);
  }
  [[nodiscard]] std::uint16_t holding_at(std::uint16_t address) const {
    return std::get<Words>(instruments.read(Function::read_holding, address, 1)).at(0);
  }
  [[nodiscard]] bool status(int bit) const {
    return ((input_at(input::status) >> static_cast<unsigned>(bit)) & 1U) != 0;
  }
  [[nodiscard]] std::uint32_t counter_ms() const {
    const Words words = std::get<Words>(instruments.read(Function::read_input, 0, 2));
    return static_cast<std::uint32_t>(words[0]) << 16U | words[1];
  }
  // Time passes at rate 1 and nobody renews the lease.
  void wait(double seconds) { instruments.advance(seconds, seconds); }
  // Time passes and somebody renews the lease every 100 ms.
  void wait_attended(double seconds) {
    for (double waited = 0; waited < seconds; waited += 0.1) {
      EXPECT_EQ(write(holding::lease, 1), std::nullopt);
      wait(0.1);
    }
  }
  // Everything a start needs.
  void switch_on(std::uint16_t supply_mv = 13500) {
    const Words words{7, 1, 1, supply_mv};  // owner, lease, relay, supply
    EXPECT_EQ(instruments.write(holding::owner, words), std::nullopt);
  }
};

}  // namespace simbench
