#include "daemon/cli/asked_tests.h"

#include <iostream>

#include "daemon/views/tests_known.h"

namespace endgate::daemon {

std::optional<TrendFilter> filter_asked(const schema::StoreReader& store, const TestsAsked& asked) {
  if (const auto wrong = wrong_with(store, asked, known_in(store))) {
    std::cerr << wrong->sentence << "\n";
    return std::nullopt;
  }
  return filter_of(asked);
}

}  // namespace endgate::daemon
