#include "analysis/statistics/joint_batches.h"

#include <gtest/gtest.h>

#include <random>

namespace endgate::statistics {
namespace {

struct Made {
  Eigen::MatrixXd units{};
  std::vector<std::size_t> batch{};
};

// Two metrics that go together; batch `odd` goes apart in both, by less than either alone would
// show.
Made made_joint(unsigned seed, std::size_t batches, int per_batch, std::size_t odd, double apart) {
  std::mt19937 random(seed);
  std::normal_distribution<double> normal(0, 1);
  Made out{.units = Eigen::MatrixXd(static_cast<Eigen::Index>(batches) * per_batch, 2)};
  Eigen::Index row = 0;
  for (std::size_t i = 0; i < batches; ++i) {
    const double level = normal(random), own = 0.2 * normal(random);
    for (int unit = 0; unit < per_batch; ++unit, ++row) {
      const double shift = i == odd ? apart : 0;
      out.units(row, 0) = 50 + level + shift + 0.3 * normal(random);
      out.units(row, 1) = 1e5 * (3 + level + own - shift + 0.3 * normal(random));
      out.batch.push_back(i);
    }
  }
  return out;
}

TEST(JointBatches, ABatchThatNoMetricAloneShowsIsFoundAndItsMetricsAreNamed) {
  const Made history = made_joint(5, 30, 10, 17, 1);
  const JointBatches told = joint_batches(history.units, history.batch);
  ASSERT_EQ(told.refused, JointBatches::Refused::no);
  for (std::size_t i = 0; i < told.batches.size(); ++i) {
    EXPECT_EQ(told.batches[i].distance > told.limit, i == 17) << i;
    EXPECT_LT(told.batches[i].deviations.cwiseAbs().maxCoeff(), 3);
  }
  const JointBatch& odd = told.batches[17];
  EXPECT_GT(odd.shares.minCoeff(), 0.5 * odd.distance);  // neither explains it without the other
  EXPECT_GT(odd.apart(0), 3);  // higher than the other lets expect, and the other way round
  EXPECT_LT(odd.apart(1), -3);
}

TEST(JointBatches, AreTheSameForAnyLinearCombinationsOfTheMetrics) {
  const Made history = made_joint(6, 25, 8, 3, 1);
  Eigen::MatrixXd mix(2, 2);
  mix << 2, 1, -3e-5, 4e-5;
  const JointBatches plain = joint_batches(history.units, history.batch);
  const JointBatches mixed = joint_batches(history.units * mix, history.batch);
  ASSERT_EQ(mixed.batches.size(), plain.batches.size());
  for (std::size_t i = 0; i < plain.batches.size(); ++i)
    EXPECT_NEAR(mixed.batches[i].distance / plain.batches[i].distance, 1, 1e-8);
}

// The first phase leaves out 0.27 % of batches of a process that nothing disturbs.
TEST(JointBatches, SignalFalselyAsRarelyAsPromised) {
  constexpr unsigned kHistories = 1000;
  std::size_t signals = 0, batches = 0;
  for (unsigned seed = 1; seed <= kHistories; ++seed) {
    const Made history = made_joint(seed, 25, 4, 99, 0);
    const JointBatches told = joint_batches(history.units, history.batch);
    batches += told.batches.size();
    for (const JointBatch& batch : told.batches) signals += batch.distance > told.limit ? 1 : 0;
  }
  EXPECT_NEAR(100.0 * static_cast<double>(signals) / static_cast<double>(batches), 0.27, 0.1);
}

TEST(JointBatches, ASmallBatchIsHeldAgainstMoreScatter) {
  Made history = made_joint(7, 25, 10, 24, 1);
  const double whole = joint_batches(history.units, history.batch).batches[24].distance;
  const Eigen::Index kept = 24 * 10 + 1;  // one unit of the last batch
  history.units.conservativeResize(kept, 2);
  history.batch.resize(static_cast<std::size_t>(kept));
  EXPECT_LT(joint_batches(history.units, history.batch).batches[24].distance, whole);
}

TEST(JointBatches, AreRefusedFromTooFewOrWhenAMetricFollowsFromAnother) {
  const Made few = made_joint(8, 19, 5, 99, 0);
  const JointBatches refused = joint_batches(few.units, few.batch);
  EXPECT_EQ(refused.refused, JointBatches::Refused::too_few);
  EXPECT_EQ(refused.needed, 20U);
  Made twice = made_joint(8, 25, 5, 99, 0);
  twice.units.col(1) = 2 * twice.units.col(0);
  EXPECT_EQ(joint_batches(twice.units, twice.batch).refused, JointBatches::Refused::alike);
}

}  // namespace
}  // namespace endgate::statistics
