// On which address does a server wait for clients?

#pragma once

#include <boost/asio/ip/tcp.hpp>

#include "daemon/service/http_server.h"

namespace endgate::daemon {

// Throws std::system_error with the address.
void listen(boost::asio::ip::tcp::acceptor& acceptor, const HttpSettings& settings);

}  // namespace endgate::daemon
