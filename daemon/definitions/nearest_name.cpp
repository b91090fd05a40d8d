#include "daemon/definitions/nearest_name.h"

#include <algorithm>
#include <numeric>
#include <vector>

namespace endgate::daemon {
namespace {

// Levenshtein distance, one row at a time.
std::size_t edits_between(std::string_view a, std::string_view b) {
  std::vector<std::size_t> row(b.size() + 1);
  std::iota(row.begin(), row.end(), std::size_t{0});
  for (std::size_t i = 1; i <= a.size(); ++i) {
    std::size_t diagonal = row[0];
    row[0] = i;
    for (std::size_t j = 1; j <= b.size(); ++j) {
      const std::size_t replaced = diagonal + (a[i - 1] == b[j - 1] ? 0 : 1);
      diagonal = row[j];
      row[j] = std::min({row[j] + 1, row[j - 1] + 1, replaced});
    }
  }
  return row.back();
}

}  // namespace

std::string nearest_name(std::string_view written, std::span<const std::string> known) {
  const std::string* best = nullptr;
  std::size_t fewest = std::max<std::size_t>(2, written.size() / 3) + 1;
  for (const std::string& name : known) {
    const std::size_t edits = edits_between(written, name);
    if (edits < fewest) {
      fewest = edits;
      best = &name;
    }
  }
  return best == nullptr ? std::string() : *best;
}

}  // namespace endgate::daemon
