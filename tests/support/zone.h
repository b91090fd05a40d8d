// The zone of this machine for the life of a test.

#pragma once

#include <cstdlib>
#include <ctime>
#include <string>

namespace endgate::test {

class Zone {
 public:
  explicit Zone(const char* name) {
    if (const char* before = std::getenv("TZ")) before_ = before;
    ::setenv("TZ", name, 1);
    ::tzset();
  }
  ~Zone() {
    if (before_.empty())
      ::unsetenv("TZ");
    else
      ::setenv("TZ", before_.c_str(), 1);
    ::tzset();
  }
  Zone(const Zone&) = delete;
  Zone& operator=(const Zone&) = delete;

 private:
  std::string before_{};
};

}  // namespace endgate::test
