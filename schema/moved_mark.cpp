#include "schema/moved_mark.h"

#include <string>

#include "schema/durable_file.h"
#include "schema/store_fault.h"

namespace endgate::schema {

void mark_moved(const std::filesystem::path& folder, const std::filesystem::path& to) {
  const std::string text = to.string() + "\n";
  const auto* bytes = reinterpret_cast<const std::uint8_t*>(text.data());
  write_durably(folder / kMovedMark, {bytes, text.size()}, 0644);
}

void refuse_moved(const std::filesystem::path& folder) {
  const auto mark = read_file(folder / kMovedMark);
  if (!mark) return;
  std::string to(mark->begin(), mark->end());
  to.erase(to.find_last_not_of('\n') + 1);
  throw StoreFault(StoreFault::Kind::refused,
                   "the store in " + folder.string() + " was moved to " + to +
                       ": nothing more is kept here. Write data_directory = \"" + to +
                       "\" into service.toml. To go on here instead, and only if nothing was kept "
                       "there, remove " +
                       (folder / kMovedMark).string() + ".");
}

}  // namespace endgate::schema
