#include "daemon/queries/suggested_priors.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace endgate::daemon {
namespace {

analysis::CauseTable list() {
  analysis::CauseTable table;
  for (const char* id : {"rings", "reed", "fan"}) {
    table.causes.emplace_back().id = id;
    table.causes.back().prior = 1;
  }
  table.causes.emplace_back().id = "bench_flow";
  table.causes.back().of_bench = true;
  return table;
}

CauseAgreement found(std::map<std::string, std::int64_t> by_cause) {
  CauseAgreement told;
  told.found = std::move(by_cause);
  return told;
}

TEST(SuggestedPriors, WithoutFindingsAreThoseOfNow) {
  for (const SuggestedPrior& prior : suggested_priors(found({}), list()))
    EXPECT_DOUBLE_EQ(prior.suggested, 1) << prior.id;
}

TEST(SuggestedPriors, FollowTheFindingsAndRuleNothingOut) {
  const auto priors = suggested_priors(found({{"rings", 8}, {"fan", 1}, {"dropped", 7}}), list());
  ASSERT_EQ(priors.size(), 3U);  // a repair finds no cause of the bench
  EXPECT_DOUBLE_EQ(priors[0].suggested, 9.0 * 3 / 12);
  EXPECT_DOUBLE_EQ(priors[1].suggested, 1.0 * 3 / 12);
  EXPECT_DOUBLE_EQ(priors[2].suggested, 2.0 * 3 / 12);
  EXPECT_EQ(priors[1].found, 0);
}

TEST(SuggestedPriors, KeepWhatIsStatedNowAsOneFindingPerCause) {
  analysis::CauseTable stated = list();
  stated.causes[0].prior = 4;
  const auto priors = suggested_priors(found({}), stated);
  EXPECT_DOUBLE_EQ(priors[0].suggested / priors[1].suggested, 4);
}

TEST(SuggestedPriors, AreLinesForTheFile) {
  const auto lines = lines_of(suggested_priors(found({{"rings", 1}}), list()));
  EXPECT_THAT(lines.front(), testing::StartsWith("# Suggested by 1 finding of repairs"));
  EXPECT_THAT(
      lines, testing::Contains(std::string("id = \"rings\"\nprior = 1.5   # was 1, found 1 time")));
}

}  // namespace
}  // namespace endgate::daemon
