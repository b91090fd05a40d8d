// How does a command reach the daemon that owns the store?

#pragma once

#include <variant>

#include "daemon/definitions/service_definition.h"
#include "daemon/line/application.h"

namespace endgate::daemon {

// One POST to the address of the service file; waits a few seconds at most.  Throws
// StoreFault::busy when the store has an owner that does not answer there.
[[nodiscard]] std::variant<Application::Accepted, CommandRefusal> accept_through_daemon(
    const ServiceDefinition& service, const Application::AcceptCommand& command);

}  // namespace endgate::daemon
