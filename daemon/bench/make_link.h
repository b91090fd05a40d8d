// Which link does this device of a bench file ask for?

#pragma once

#include <boost/asio/any_io_executor.hpp>
#include <memory>
#include <string>

#include "daemon/definitions/device_definition.h"
#include "daemon/links/link.h"

namespace endgate::daemon {

[[nodiscard]] std::shared_ptr<Link> make_link(boost::asio::any_io_executor executor,
                                              const DeviceDefinition& device);

// Why the file of a recorded run cannot be played as it lies there now; empty when it can, and for
// every other device.  Reads the whole file.
[[nodiscard]] std::string why_not_played(const DeviceDefinition& device);

}  // namespace endgate::daemon
