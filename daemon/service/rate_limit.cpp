#include "daemon/service/rate_limit.h"

#include <algorithm>

namespace endgate::daemon {
namespace {

struct Rule {
  double per_second, most;
};
constexpr Rule kReads{50, 200}, kWrites{5, 40};
constexpr std::size_t kMostAddresses = 4096;

}  // namespace

bool RateLimit::allows(const std::string& address, bool write, Time now) {
  const Rule rule = write ? kWrites : kReads;
  if (buckets_.size() > kMostAddresses) buckets_.clear();  // forgetting is kinder than growing
  const auto [found, fresh] = buckets_.try_emplace({address, write}, Bucket{rule.most, now});
  Bucket& bucket = found->second;
  const double passed = std::chrono::duration<double>(now - bucket.filled).count();
  bucket.tokens = std::min(rule.most, bucket.tokens + passed * rule.per_second);
  bucket.filled = now;
  if (bucket.tokens < 1) return false;
  bucket.tokens -= 1;
  return true;
}

}  // namespace endgate::daemon
