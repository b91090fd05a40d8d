#include "daemon/links/modbus_rtu_link.h"

#include "daemon/links/modbus_dialogue.h"

namespace endgate::daemon {

std::shared_ptr<Link> make_modbus_rtu_link(boost::asio::any_io_executor executor,
                                           ModbusRtuSettings settings) {
  return make_transaction_link(executor, settings.device, settings,
                               make_serial_stream(executor, settings.line),
                               std::make_unique<ModbusDialogue>(modbus::Framing::rtu, settings.unit,
                                                                frame_silence(settings.line)));
}

std::chrono::nanoseconds frame_silence(const SerialSettings& line) {
  constexpr unsigned kFastest = 19200;  // above it the times are fixed
  if (line.baud > kFastest) return std::chrono::microseconds(1750);
  return character_time(line) * 7 / 2;
}

}  // namespace endgate::daemon
