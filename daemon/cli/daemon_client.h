// How does a command reach the daemon that owns the store?

#pragma once

#include <map>
#include <string>
#include <variant>

#include "daemon/definitions/service_definition.h"
#include "daemon/line/application.h"

namespace endgate::daemon {

// One POST to the address of the service file; waits a few seconds at most.  Throws
// StoreFault::busy when the store has an owner that does not answer there.
[[nodiscard]] std::variant<Application::Accepted, CommandRefusal> accept_through_daemon(
    const ServiceDefinition& service, const Application::AcceptCommand& command);

// The same for any command that keeps a fact.
[[nodiscard]] Application::Entered enter_through_daemon(
    const ServiceDefinition& service, const std::string& target,
    const std::map<std::string, std::string>& fields);

}  // namespace endgate::daemon
