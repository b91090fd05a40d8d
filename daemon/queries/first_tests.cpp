#include "daemon/queries/first_tests.h"

#include <unordered_set>

namespace endgate::daemon {
namespace {

bool may_be_first(const schema::TrendTest& test, const std::string& purpose) {
  if (test.verdict == "void") return false;
  if (purpose == "production") return is_of_production(test);
  return purpose.empty() || test.purpose == purpose;
}

}  // namespace

bool is_of_production(const schema::TrendTest& test) {
  return test.purpose == "production" || test.purpose == "retest";
}

void for_each_first_test(const schema::StoreReader& store, const TrendFilter& filter,
                         const std::string& metric, const schema::VisitTest& visit) {
  TrendFilter asked = filter;
  asked.purpose.clear();
  TestMatch matches(store, asked);
  std::unordered_set<std::string> seen;
  for_each_test(store, every_test_of(filter), metric,
                [&](const schema::TrendTest& test, const schema::TrendMetric& found) {
                  if (!may_be_first(test, filter.purpose)) return;
                  if (!seen.emplace(test.serial).second) return;
                  if (matches(test)) visit(test, found);
                });
}

}  // namespace endgate::daemon
