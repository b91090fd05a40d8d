// Where does a service file with mistakes mean its store to be?
//
// As far as it can be read: `data_directory` where the text is TOML at all, else the name the
// scenario uses.  Only for looking whether another service runs there, never for keeping anything.

#pragma once

#include <filesystem>
#include <string_view>

namespace endgate::daemon {

[[nodiscard]] std::filesystem::path data_directory_meant(std::string_view text);

}  // namespace endgate::daemon
