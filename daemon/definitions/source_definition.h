// Where on a device is a number or a bit, and how is it read?

#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace endgate::daemon {

enum class RegisterType : std::uint8_t { u16, i16, u32, i32, f32, f64 };
enum class WordOrder : std::uint8_t { high_first, low_first };

// What the number behind the registers is, before scale and offset.
enum class Conversion : std::uint8_t {
  as_is,
  rate_of_count,      // a wrapping count of events: events per second over rate_over_s
  inverse_of_period,  // the time between events: 1 / raw
};

// A number.  An instrument's query and a stream's column come down to registers too: the loader
// gives them addresses (device_definition.h).
struct RegisterSource {
  std::string device;
  int function = 4;  // 3 or 4
  std::uint16_t address = 0;
  RegisterType type = RegisterType::u16;
  WordOrder word_order = WordOrder::high_first;
  std::vector<std::int64_t> no_value;  // raw codes that mean "no value"
  std::optional<int> unit_id{};        // absent: the device's
  Conversion conversion = Conversion::as_is;
  double rate_over_s = 0.2;
  std::vector<std::int64_t> standstill{};  // raw codes of a period that mean "no event": rate 0
  // A raw number beyond them is a sensor or wire fault: no value.
  std::optional<double> fault_below_raw{};
  std::optional<double> fault_above_raw{};
  std::optional<int> column{};  // of a sample stream
};

struct BitSource {
  std::string device;
  int function = 4;  // 1, 2: a bit by itself; 3, 4: one of a register
  std::uint16_t address = 0;
  int bit = 0;  // 0 = least significant
  bool inverted = false;
  std::optional<int> unit_id{};
};

}  // namespace endgate::daemon
