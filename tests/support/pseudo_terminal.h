// A serial line without hardware: what is written to `path()` is read at `master()` and back.  The
// far end stays open, so a client may come and go.

#pragma once

#include <fcntl.h>
#include <stdlib.h>
#include <termios.h>
#include <unistd.h>

#include <stdexcept>
#include <string>

namespace endgate::tests {

class PseudoTerminal {
 public:
  PseudoTerminal() : master_(::posix_openpt(O_RDWR | O_NOCTTY)) {
    if (master_ < 0 || ::grantpt(master_) != 0 || ::unlockpt(master_) != 0)
      throw std::runtime_error("no pseudo-terminal");
    path_ = ::ptsname(master_);
    kept_ = ::open(path_.c_str(), O_RDWR | O_NOCTTY);
    termios raw{};
    ::tcgetattr(kept_, &raw);
    ::cfmakeraw(&raw);
    ::tcsetattr(kept_, TCSANOW, &raw);
  }
  ~PseudoTerminal() {
    ::close(kept_);
    ::close(master_);
  }
  PseudoTerminal(const PseudoTerminal&) = delete;
  PseudoTerminal& operator=(const PseudoTerminal&) = delete;

  [[nodiscard]] const std::string& path() const { return path_; }
  [[nodiscard]] int master() const { return master_; }

 private:
  int master_ = -1;
  int kept_ = -1;
  std::string path_;
};

}  // namespace endgate::tests
