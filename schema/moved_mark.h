// Was this store moved away from here?  A line in the old folder that keeps two stores from growing
// out of one: nobody writes there any more until a person takes the mark away.

#pragma once

#include <filesystem>

namespace endgate::schema {

inline constexpr const char* kMovedMark = "moved-to.txt";

// Durable when it returns.  StoreFault.
void mark_moved(const std::filesystem::path& folder, const std::filesystem::path& to);

// StoreFault::refused says where to, and what to do.
void refuse_moved(const std::filesystem::path& folder);

}  // namespace endgate::schema
