// A definition text becomes an accepted fact: checked whole, then a new version with who and why.

#pragma once

#include <variant>

#include "daemon/line/application.h"
#include "schema/store.h"

namespace endgate::daemon {

// Refused, with every error found, when the text is not a right definition of its kind or when name
// or reason are missing.  Throws StoreFault.
[[nodiscard]] std::variant<Application::Accepted, CommandRefusal> accept_text(
    schema::StoreWriter& writer, const Application::AcceptCommand& command);

}  // namespace endgate::daemon
