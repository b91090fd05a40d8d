// Modbus TCP behind the Link interface: transaction_link.h over a TCP connection.

#pragma once

#include "daemon/links/transaction_link.h"

namespace endgate::daemon {

struct ModbusTcpSettings : LinkTimes {
  std::string device;  // for error texts
  std::string host;
  std::uint16_t port = 502;
  std::uint8_t unit = 1;
};

[[nodiscard]] std::shared_ptr<Link> make_modbus_tcp_link(boost::asio::any_io_executor executor,
                                                         ModbusTcpSettings settings);

}  // namespace endgate::daemon
