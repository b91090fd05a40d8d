#include "daemon/links/modbus_tcp_link.h"

#include "daemon/links/modbus_dialogue.h"
#include "daemon/links/tcp_stream.h"

namespace endgate::daemon {

std::shared_ptr<Link> make_modbus_tcp_link(boost::asio::any_io_executor executor,
                                           ModbusTcpSettings settings) {
  return make_transaction_link(
      executor, settings.device, settings, make_tcp_stream(executor, settings.host, settings.port),
      std::make_unique<ModbusDialogue>(modbus::Framing::tcp, settings.unit));
}

}  // namespace endgate::daemon
