// Instruments in the form of IEEE 488.2 and SCPI behind the Link interface: scpi_dialogue.h over a
// TCP connection or a serial line.

#pragma once

#include "daemon/links/scpi_dialogue.h"
#include "daemon/links/serial_stream.h"
#include "daemon/links/transaction_link.h"

namespace endgate::daemon {

struct ScpiSettings : LinkTimes {
  std::string device;  // for error texts
  ScpiTalk talk;
};

[[nodiscard]] std::shared_ptr<Link> make_scpi_tcp_link(boost::asio::any_io_executor executor,
                                                       ScpiSettings settings, std::string host,
                                                       std::uint16_t port);
[[nodiscard]] std::shared_ptr<Link> make_scpi_serial_link(boost::asio::any_io_executor executor,
                                                          ScpiSettings settings,
                                                          SerialSettings line);

}  // namespace endgate::daemon
