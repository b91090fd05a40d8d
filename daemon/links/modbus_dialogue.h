// Modbus as a dialogue, in either framing.

#pragma once

#include <optional>

#include "daemon/links/dialogue.h"
#include "daemon/links/modbus_pdu.h"

namespace endgate::daemon {

class ModbusDialogue final : public Dialogue {
 public:
  ModbusDialogue(modbus::Framing framing, std::uint8_t unit,
                 std::chrono::nanoseconds silence_between = std::chrono::nanoseconds::zero())
      : framing_(framing), unit_(unit), silence_between_(silence_between) {}

  Bytes ask(const RegisterSpan& span) override;
  Bytes tell(const RegisterWrite& write) override;
  State feed(std::span<const std::uint8_t> bytes) override;
  [[nodiscard]] std::vector<std::uint16_t> words() const override { return parser_->words(); }
  [[nodiscard]] int exception() const override;
  [[nodiscard]] std::string text() const override;
  [[nodiscard]] std::chrono::nanoseconds silence_between() const override {
    return silence_between_;
  }

 private:
  Bytes begin(const modbus::Request& request);

  const modbus::Framing framing_;
  const std::uint8_t unit_;
  const std::chrono::nanoseconds silence_between_;
  std::uint16_t transaction_ = 0;
  std::uint16_t address_ = 0;
  bool reads_ = false;
  std::optional<modbus::AnswerParser> parser_;
};

}  // namespace endgate::daemon
