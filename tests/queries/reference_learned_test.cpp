// From which tests is it learned what a reference unit reads on a bench?

#include <gmock/gmock.h>

#include <cmath>

#include "daemon/queries/bench_checks.h"

namespace endgate::daemon {
namespace {

using testing::AllOf;
using testing::HasSubstr;

class ReferenceLearned : public testing::Test {
 protected:
  schema::BenchCheck tested(double fad, const std::string& verdict = "pass") {
    schema::Record record;
    record.start.serial = "QH2601-0901-J";
    record.start.bench = "north";
    record.start.purpose = "reference";
    record.verdict = verdict;
    schema::MetricValue metric;
    metric.id = "fad_400";
    metric.value = fad;
    metric.u = std::hypot(0.1, 0.3);
    metric.parts = {{"random", 0.1}, {"calibration north@1/flow", 0.3}};
    record.metrics = {metric};
    const schema::BenchCheck check = reference_check_of(record, "R1", checks_);
    checks_.push_back({static_cast<schema::Position>(checks_.size() + 1), check});
    return check;
  }
  std::vector<KeptCheck> checks_;
};

TEST_F(ReferenceLearned, AFailedTestIsNotLearnedFrom) {
  const schema::BenchCheck failed = tested(16.45, "fail");
  EXPECT_EQ(failed.outcome, kNotTaken);
  EXPECT_THAT(failed.text, AllOf(HasSubstr("The test of reference unit R1 on bench north failed."),
                                 HasSubstr("See that it was R1, QH2601-0901-J")));
  EXPECT_THAT(tested(44.0).text, HasSubstr("test 1 of 3"));
}

TEST_F(ReferenceLearned, ATestOfAnotherUnitThatPassesIsNotTakenEither) {
  tested(44.0);
  const schema::BenchCheck other = tested(47.5);
  EXPECT_EQ(other.outcome, kNotTaken);
  EXPECT_THAT(other.text, AllOf(HasSubstr("does not resemble its earlier ones"),
                                HasSubstr("reads 8.0 % high"), HasSubstr("learned anew")));
  EXPECT_EQ(tested(44.2).outcome, "learning");
  EXPECT_EQ(tested(43.9).outcome, "learning");
  EXPECT_EQ(tested(44.1).outcome, "in_control") << "learned from the three alone";
  EXPECT_EQ(tested(42.0).outcome, "out_of_control");
}

}  // namespace
}  // namespace endgate::daemon
