// On which address does a server wait for clients?

#pragma once

#include <boost/asio/ip/tcp.hpp>
#include <system_error>

#include "daemon/service/http_server.h"

namespace endgate::daemon {

// The address is in use or none of this machine, or no file may be opened any more; says which.
class CannotListen : public std::system_error {
 public:
  using std::system_error::system_error;
};

// Throws CannotListen.
void listen(boost::asio::ip::tcp::acceptor& acceptor, const HttpSettings& settings);

}  // namespace endgate::daemon
