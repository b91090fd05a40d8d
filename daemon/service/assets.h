// Which file of the pages has this name?  A table compiled into the program; no request ever
// reaches a file system.

#pragma once

#include <span>
#include <string_view>

namespace endgate::daemon {

struct Asset {
  std::string_view name{};  // "line.css"
  std::string_view content_type{};
  std::string_view etag{};  // quoted SHA-256 of the bytes
  std::string_view bytes{};
};

[[nodiscard]] std::span<const Asset> assets();
[[nodiscard]] const Asset* asset_of(std::string_view name);  // nullptr: no such file

}  // namespace endgate::daemon
