// Which bytes ask a Modbus device, and do these bytes answer what was asked?
//
//   tcp   transaction u16 | protocol u16 = 0 | length u16 | unit u8 | function u8 | data
//   rtu   unit u8 | function u8 | data | CRC-16, low byte first
//
// Functions 1, 2 (read bits), 3, 4 (read registers), 5 (write a bit), 6, 16 (write registers),
// 22 (change bits of a register) and their exception answers.  Pure; bounded; every field of an
// answer is checked against its request: transaction, protocol, length, unit, function, byte
// count, check sum, and the echo of a write.
//
// Source: Modbus Application Protocol Specification V1.1b3, Modbus Messaging on TCP/IP
// Implementation Guide V1.0b, Modbus over Serial Line V1.02 (from memory).

#pragma once

#include <array>
#include <cstdint>
#include <span>
#include <string>
#include <vector>

namespace endgate::daemon::modbus {

inline constexpr std::size_t kLargestAdu = 260;
inline constexpr std::uint16_t kMostRead = 125;
inline constexpr std::size_t kMostWritten = 123;

enum class Framing : std::uint8_t { tcp, rtu };

// One transaction.  Reading: function 1 to 4, `count`.  Writing: 5 and 6 with one value, 16 with
// several, 22 with the bits to keep and the bits to set.  An RTU frame has no transaction number.
struct Request {
  std::uint16_t transaction = 0;
  std::uint8_t unit = 1;
  std::uint8_t function = 4;
  std::uint16_t address = 0;
  std::uint16_t count = 0;
  std::vector<std::uint16_t> values;
};

[[nodiscard]] std::vector<std::uint8_t> encode(const Request& request,
                                               Framing framing = Framing::tcp);

// Parses one answer as it trickles in.
class AnswerParser {
 public:
  explicit AnswerParser(const Request& request, Framing framing = Framing::tcp)
      : request_(request), framing_(framing) {}

  enum class State { needs_more, done, refused, garbled };
  // Once done, refused or garbled the parser stays so; bytes after a whole answer are garbled.
  State feed(std::span<const std::uint8_t> bytes);
  [[nodiscard]] State state() const { return state_; }
  [[nodiscard]] std::vector<std::uint16_t> words() const;  // done, of a read; a bit is 0 or 1
  [[nodiscard]] int exception() const;                     // refused
  [[nodiscard]] const std::string& fault() const { return fault_; }  // garbled

 private:
  State judge();
  State garbled(std::string what);
  [[nodiscard]] bool header_is_wrong();
  [[nodiscard]] bool tcp_header_is_wrong();
  [[nodiscard]] bool body_is_wrong();
  [[nodiscard]] bool check_sum_is_wrong();
  [[nodiscard]] bool is_exception() const;
  [[nodiscard]] std::size_t function_at() const { return framing_ == Framing::tcp ? 7 : 1; }
  [[nodiscard]] std::size_t data_at() const { return function_at() + 1; }
  [[nodiscard]] std::size_t expected_bytes() const;
  [[nodiscard]] std::size_t expected_data_bytes() const;
  [[nodiscard]] std::uint16_t word_at(std::size_t offset) const;

  Request request_;
  Framing framing_;
  std::array<std::uint8_t, kLargestAdu> buffer_{};
  std::size_t filled_ = 0;
  State state_ = State::needs_more;
  std::string fault_;
};

// "illegal data address" for 2; "exception 77" for a number of a device's own.
[[nodiscard]] std::string exception_text(int exception);

}  // namespace endgate::daemon::modbus
