#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "analysis/reference_check.h"

namespace endgate::analysis {
namespace {

constexpr double kOwn = 0.2, kShared = 0.5;  // per cent

Metric metric_with_parts(const std::string& id, double value, double own = kOwn,
                         double shared = kShared) {
  Metric made;
  made.id = id;
  made.value = value;
  made.u = std::hypot(own, shared);
  made.parts = {{"random", own}, {"calibration north@1/flow", shared}};
  return made;
}

ReferenceTest test_of(std::vector<double> values, const std::string& calibration = "c@1") {
  ReferenceTest test{.calibration = calibration};
  for (std::size_t i = 0; i < values.size(); ++i)
    test.metrics.push_back(metric_with_parts("m" + std::to_string(i), values[i]));
  return test;
}

std::vector<ReferenceTest> four_alike(double value = 100) {
  return {test_of({value}), test_of({value}), test_of({value}), test_of({value})};
}

class Bench {
 public:
  explicit Bench(std::uint32_t seed) : bits_(seed) {}
  ReferenceTest measure(std::size_t metrics, double shift = 0) {
    std::normal_distribution<double> noise(0, kOwn);
    std::vector<double> values;
    for (std::size_t i = 0; i < metrics; ++i) values.push_back(100 + shift + noise(bits_));
    return test_of(values);
  }
  std::vector<ReferenceTest> history(std::size_t count, std::size_t metrics) {
    std::vector<ReferenceTest> tests;
    for (std::size_t i = 0; i < count; ++i) tests.push_back(measure(metrics));
    return tests;
  }

 private:
  std::mt19937 bits_;
};

TEST(ReferenceCheck, LearnsUntilThreeEarlierTests_RC1) {
  const std::vector<ReferenceTest> two{test_of({100}), test_of({100})};
  EXPECT_EQ(check_reference(test_of({150}), two).word, ControlWord::learning);
  EXPECT_EQ(check_reference(test_of({150}), {}).word, ControlWord::learning);
  EXPECT_EQ(check_reference(test_of({150}), four_alike()).word, ControlWord::out_of_control);
}

TEST(ReferenceCheck, ATestThatIsUnlikeItsFellowsIsTold_RC4) {
  const std::vector<ReferenceTest> two{test_of({100}), test_of({100.4})};
  EXPECT_FALSE(unlike_fellows(test_of({150}), {})) << "the first has no fellows";
  EXPECT_FALSE(unlike_fellows(test_of({101.8}), two));
  const auto unlike = unlike_fellows(test_of({95}), two);
  ASSERT_TRUE(unlike.has_value());
  EXPECT_NEAR(unlike->expected, 100.2, 1e-9);
  EXPECT_TRUE(unlike->out());
  EXPECT_FALSE(unlike_fellows(test_of({150}), four_alike())) << "then it is checked";
}

TEST(ReferenceCheck, FellowsOfOneUnitAreSeldomToldUnlike_RC4) {
  Bench bench(11);
  int told = 0;
  for (int i = 0; i < 5000; ++i)
    told += unlike_fellows(bench.measure(12), bench.history(1 + i % 2, 12)) ? 1 : 0;
  EXPECT_EQ(told, 0) << "what both share makes the bound wide";
}

TEST(ReferenceCheck, TheBoundIsInControl_RC2) {
  const ReferenceCheck check = check_reference(test_of({100}), four_alike());
  ASSERT_EQ(check.held.size(), 1U);
  const HeldMetric& held = check.held.front();
  EXPECT_NEAR(held.u_difference, kOwn * std::sqrt(1.25), 1e-12);
  EXPECT_NEAR(held.allowed / held.u_difference, 2.8070337683438, 1e-9);  // normal table, 0.25 %
  EXPECT_FALSE((HeldMetric{.value = 102, .expected = 100, .allowed = 2}.out()));
  EXPECT_TRUE((HeldMetric{.value = 97.9, .expected = 100, .allowed = 2}.out()));
}

TEST(ReferenceCheck, AMissingMetricSaysNothing_RC2) {
  ReferenceTest now = test_of({100});
  Metric missing;
  missing.id = "m1";
  missing.missing_reason = "step not reached";
  now.metrics.push_back(missing);
  EXPECT_EQ(check_reference(now, four_alike()).held.size(), 1U);
}

TEST(ReferenceCheck, TheSharedUCancelsUntilTheCalibrationChanges_RC3) {
  const double same = check_reference(test_of({100}), four_alike()).held.front().u_difference;
  const double other =
      check_reference(test_of({100}, "c@2"), four_alike()).held.front().u_difference;
  EXPECT_NEAR(other * other - same * same, kShared * kShared, 1e-12);
}

TEST(ReferenceCheck, AMeanOverTwoCalibrationsKeepsItsShareOfTheSharedU_RC3) {
  std::vector<ReferenceTest> earlier = four_alike();
  const double same = check_reference(test_of({100}), earlier).held.front().u_difference;
  earlier.push_back(test_of({100}, "c@2"));
  const double mixed = check_reference(test_of({100}, "c@2"), earlier).held.front().u_difference;
  const double own = same * std::sqrt((1 + 1.0 / 5) / (1 + 1.0 / 4));
  EXPECT_NEAR(mixed * mixed - own * own, std::pow(4.0 / 5 * kShared, 2), 1e-12);
}

TEST(ReferenceCheck, ThreeTestsUnderThePresentCalibrationStandAlone_RC3) {
  std::vector<ReferenceTest> earlier = four_alike();
  for (int i = 0; i < 3; ++i) earlier.push_back(test_of({101.5}, "c@2"));
  const ReferenceCheck check = check_reference(test_of({101.5}, "c@2"), earlier);
  EXPECT_EQ(check.word, ControlWord::in_control);
  EXPECT_EQ(check.held.front().earlier, 3U);
  EXPECT_NEAR(check.held.front().expected, 101.5, 1e-12);
}

TEST(ReferenceCheck, AScatterBeyondTheStatedUWidensWhatIsAllowed) {
  const std::vector<ReferenceTest> wide{test_of({99}), test_of({101}), test_of({98}),
                                        test_of({102})};
  EXPECT_GT(check_reference(test_of({100}), wide).held.front().u_difference, 1.8);
}

TEST(ReferenceCheck, HardlyEverCriesWolf) {
  Bench bench(20261125);
  int wrong = 0;
  constexpr int kChecks = 20000;
  for (int i = 0; i < kChecks; ++i) {
    const auto history = bench.history(4 + static_cast<std::size_t>(i) % 5, 12);
    if (check_reference(bench.measure(12), history).word == ControlWord::out_of_control) ++wrong;
  }
  EXPECT_LT(wrong, kChecks / 100);
}

TEST(ReferenceCheck, FindsABenchThatReadsLowAtTheFirstCheck) {
  Bench bench(20261126);
  int found = 0;
  constexpr int kChecks = 2000;
  for (int i = 0; i < kChecks; ++i) {
    const auto history = bench.history(5, 12);
    if (check_reference(bench.measure(12, -1.5), history).word == ControlWord::out_of_control)
      ++found;
  }
  EXPECT_GT(found, kChecks * 99 / 100);
}

}  // namespace
}  // namespace endgate::analysis
