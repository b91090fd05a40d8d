// Has this address asked too often?  Token buckets: reads 50 a second, writes 5 a second, with a
// few seconds saved up.  Stop is never limited and never asks here.
//
// Thread safety: one thread.

#pragma once

#include <chrono>
#include <map>
#include <string>

namespace endgate::daemon {

class RateLimit {
 public:
  using Time = std::chrono::steady_clock::time_point;
  [[nodiscard]] bool allows(const std::string& address, bool write, Time now);

 private:
  struct Bucket {
    double tokens = 0;
    Time filled;
  };
  std::map<std::pair<std::string, bool>, Bucket> buckets_;
};

}  // namespace endgate::daemon
