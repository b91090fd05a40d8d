#include "daemon/links/modbus_dialogue.h"

#include <algorithm>

namespace endgate::daemon {

Dialogue::Bytes ModbusDialogue::ask(const RegisterSpan& span) {
  return begin({++transaction_,
                span.unit.value_or(unit_),
                static_cast<std::uint8_t>(span.function),
                span.address,
                span.count,
                {}});
}

Dialogue::Bytes ModbusDialogue::tell(const RegisterWrite& write) {
  const int by_count = write.values.size() == 1 ? 6 : 16;
  const int function = write.function == 0 ? by_count : write.function;
  return begin({++transaction_, write.unit.value_or(unit_), static_cast<std::uint8_t>(function),
                write.address, 0, write.values});
}

Dialogue::Bytes ModbusDialogue::begin(const modbus::Request& request) {
  address_ = request.address;
  reads_ = request.count > 0;
  parser_.emplace(request, framing_);
  return modbus::encode(request, framing_);
}

Dialogue::State ModbusDialogue::feed(std::span<const std::uint8_t> bytes) {
  switch (parser_->feed(bytes)) {
    case modbus::AnswerParser::State::needs_more:
      return State::needs_more;
    case modbus::AnswerParser::State::done:
      return State::done;
    case modbus::AnswerParser::State::refused:
      return State::refused;
    case modbus::AnswerParser::State::garbled:
      break;
  }
  return State::garbled;
}

int ModbusDialogue::exception() const { return std::max(parser_->exception(), 1); }

std::string ModbusDialogue::text() const {
  if (parser_->state() == modbus::AnswerParser::State::garbled) return parser_->fault();
  return std::string("refused a ") + (reads_ ? "read of" : "write to") + " register " +
         std::to_string(address_) + ": " + modbus::exception_text(exception());
}

}  // namespace endgate::daemon
