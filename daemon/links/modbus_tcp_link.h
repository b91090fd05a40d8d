// Modbus TCP behind the Link interface, on Boost.Asio.
//
// Every transaction has one absolute deadline on the steady clock, over all of its bytes: a device
// that drips them one by one is late like a silent one.  Late or wrong: the connection is closed.
// One timer per connection carries connect, transaction and pause deadlines; it is re-armed only
// when it fires or when a deadline comes before it, not for every transaction.

#pragma once

#include <boost/asio/any_io_executor.hpp>
#include <chrono>
#include <memory>
#include <string>

#include "daemon/links/link.h"

namespace endgate::daemon {

struct ModbusTcpSettings {
  std::string device;  // for error texts
  std::string host;
  std::uint16_t port = 502;
  std::uint8_t unit = 1;
  std::chrono::milliseconds transaction_deadline{100};
  std::chrono::milliseconds connect_deadline{1000};
  std::chrono::milliseconds reconnect_first{100};
  std::chrono::milliseconds reconnect_last{2000};
};

[[nodiscard]] std::shared_ptr<Link> make_modbus_tcp_link(boost::asio::any_io_executor executor,
                                                         ModbusTcpSettings settings);

}  // namespace endgate::daemon
