#include "daemon/links/scpi_link.h"

#include "daemon/links/tcp_stream.h"

namespace endgate::daemon {

std::shared_ptr<Link> make_scpi_tcp_link(boost::asio::any_io_executor executor,
                                         ScpiSettings settings, std::string host,
                                         std::uint16_t port) {
  return make_transaction_link(executor, settings.device, settings,
                               make_tcp_stream(executor, std::move(host), port),
                               std::make_unique<ScpiDialogue>(std::move(settings.talk)));
}

std::shared_ptr<Link> make_scpi_serial_link(boost::asio::any_io_executor executor,
                                            ScpiSettings settings, SerialSettings line) {
  return make_transaction_link(executor, settings.device, settings,
                               make_serial_stream(executor, std::move(line)),
                               std::make_unique<ScpiDialogue>(std::move(settings.talk)));
}

}  // namespace endgate::daemon
