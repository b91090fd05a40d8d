// How does a small file get onto the disk whole?  Written aside, synced, renamed, folder synced.

#pragma once

#include <sys/types.h>

#include <filesystem>
#include <optional>
#include <span>

#include "schema/sha256.h"

namespace endgate::schema {

// StoreFault::io or ::full; then nothing stands under `path` that was not there before.
void write_durably(const std::filesystem::path& path, std::span<const std::uint8_t> bytes,
                   mode_t mode);

// Nothing when there is no such file.  StoreFault::io.
[[nodiscard]] std::optional<Bytes> read_file(const std::filesystem::path& path);

}  // namespace endgate::schema
