// Which register words did one poll round bring, and where?

#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include "daemon/definitions/bench_definition.h"

namespace endgate::daemon {

// One read request to one device.
struct DeviceSpan {
  std::size_t device = 0;  // index in BenchDefinition::devices
  int function = 4;
  std::uint16_t address = 0;
  std::uint16_t count = 0;
  std::optional<int> unit_id{};  // absent: the device's
  bool operator==(const DeviceSpan&) const = default;
};

class RegisterImage {
 public:
  // `words` may be empty: the device answered the span with an exception.
  void put(const DeviceSpan& span, std::vector<std::uint16_t> words);
  void add(RegisterImage other);
  [[nodiscard]] std::optional<std::uint16_t> at(std::size_t device, int function,
                                                std::uint16_t address,
                                                std::optional<int> unit_id = {}) const;
  // The number as it stands in the registers: the integer, or the bits of a float.  Absent: not
  // read in this round, or refused by the device.
  [[nodiscard]] std::optional<std::int64_t> raw(std::size_t device,
                                                const RegisterSource& source) const;
  [[nodiscard]] std::optional<bool> bit(std::size_t device, const BitSource& source) const;

 private:
  struct Part {
    DeviceSpan span;
    std::vector<std::uint16_t> words;
  };
  std::vector<Part> parts_;
};

[[nodiscard]] std::uint16_t registers_of(RegisterType type);  // 1, 2 or 4

// The number behind `raw` of RegisterImage; may be infinite or not a number.
[[nodiscard]] double number_of(RegisterType type, std::int64_t raw);

// Index of a device by its id; the loader has checked that it exists.
[[nodiscard]] std::size_t device_index(const BenchDefinition& bench, const std::string& id);

}  // namespace endgate::daemon
