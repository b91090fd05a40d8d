// A definition text becomes an accepted fact: checked whole, then a new version with who and why.

#pragma once

#include <filesystem>
#include <optional>
#include <variant>

#include "daemon/line/application.h"
#include "schema/store.h"

namespace endgate::daemon {

// What accept_text would refuse, without writing: all files of a folder are asked before the first
// is kept.
[[nodiscard]] std::optional<CommandRefusal> why_not_accepted(
    const std::filesystem::path& store_folder, const Application::AcceptCommand& command);

// Refused, with every error found, when the text is not a right definition of its kind, when name
// or reason are missing, or when it changes a limit set without the names of two different people:
// what decides which units ship is not one person's to change.  Throws StoreFault.
[[nodiscard]] std::variant<Application::Accepted, CommandRefusal> accept_text(
    schema::StoreWriter& writer, const std::filesystem::path& store_folder,
    const Application::AcceptCommand& command);

}  // namespace endgate::daemon
