#include "daemon/service/listen.h"

#include <string>

namespace endgate::daemon {

void listen(boost::asio::ip::tcp::acceptor& acceptor, const HttpSettings& settings) {
  using boost::asio::ip::tcp;
  const std::string where = settings.address + ":" + std::to_string(settings.port);
  try {
    const tcp::endpoint endpoint(boost::asio::ip::make_address(settings.address), settings.port);
    acceptor.open(endpoint.protocol());
    acceptor.set_option(tcp::acceptor::reuse_address(true));
    acceptor.bind(endpoint);
    acceptor.listen();
  } catch (const boost::system::system_error& fault) {
    throw CannotListen(std::error_code(fault.code().value(), std::system_category()),
                       "cannot listen on " + where);
  }
}

}  // namespace endgate::daemon
