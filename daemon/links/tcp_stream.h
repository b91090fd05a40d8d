// Bytes over a TCP connection.  A peer that lost its power is noticed within 0.8 s.

#pragma once

#include <boost/asio/any_io_executor.hpp>
#include <memory>
#include <string>

#include "daemon/links/byte_stream.h"

namespace endgate::daemon {

[[nodiscard]] std::shared_ptr<ByteStream> make_tcp_stream(boost::asio::any_io_executor executor,
                                                          std::string host, std::uint16_t port);

}  // namespace endgate::daemon
