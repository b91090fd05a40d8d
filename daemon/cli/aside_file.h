// How does a long file get written whole or not at all?  Aside, row by row; then synced and
// renamed.

#pragma once

#include <filesystem>
#include <fstream>

namespace endgate::daemon {

class AsideFile {
 public:
  // Writes to `path`.new.  Throws ConfigurationFault when it cannot be opened.
  explicit AsideFile(std::filesystem::path path);
  ~AsideFile();  // takes away what was not finished
  AsideFile(const AsideFile&) = delete;
  AsideFile& operator=(const AsideFile&) = delete;

  [[nodiscard]] std::ostream& stream() { return out_; }
  // Now it stands under its name.  Throws schema::StoreFault (full, io); then it does not.
  void finish();

 private:
  std::filesystem::path path_, aside_;
  std::ofstream out_;
  bool finished_ = false;
};

}  // namespace endgate::daemon
