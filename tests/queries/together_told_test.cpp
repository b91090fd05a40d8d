// Batches of a store in several metrics at once.

#include "daemon/queries/together_told.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <random>

#include "tests/support/made_facts.h"
#include "tests/support/temporary_folder.h"

namespace endgate::daemon {
namespace {

using testing::AllOf;
using testing::HasSubstr;

const TrendFilter kTogether{.model = "P1-60-12"};
const std::vector<std::string> kTwo{"fad_400", "current_600"};

// Flow and current go together from batch to batch; in the batch `odd` they go apart.
class TwoMetrics {
 public:
  explicit TwoMetrics(int batches, int odd = -1) {
    std::mt19937 random(11);
    std::normal_distribution<double> normal(0, 1);
    for (int i = 0; i < batches; ++i) {
      const double level = normal(random), apart = i == odd ? 1 : 0;
      for (int unit = 0; unit < 4; ++unit)
        keep(i, unit, 8e-4 + 8e-6 * (level + apart + 0.2 * normal(random)),
             12 + 0.1 * (level - apart + 0.2 * normal(random)));
    }
  }
  void keep(int batch, int unit, double flow_m3_s, std::optional<double> current_a) {
    schema::Record record;
    record.start = test::made_start("b" + std::to_string(batch) + "-" + std::to_string(unit), 1);
    record.start.batch = "b" + std::to_string(batch);
    record.start.purpose = "production";
    record.start_position = writer_.append(record.start);
    record.verdict = "pass";
    record.standing = "release";
    record.metrics = {test::made_metric("fad_400", flow_m3_s)};
    if (current_a) record.metrics.push_back(test::made_metric("current_600", *current_a));
    writer_.append(std::move(record), std::nullopt);
  }
  [[nodiscard]] TogetherTold told() const {
    return together_of(schema::StoreReader(folder_.path()), kTogether, kTwo);
  }

 private:
  test::TemporaryFolder folder_;
  schema::StoreWriter writer_{folder_.path()};
};

TEST(Together, ABatchWhoseMetricsGoApartIsNamedWithThem) {
  const TogetherTold told = TwoMetrics(24, 15).told();
  ASSERT_EQ(told.refusal, "");
  ASSERT_EQ(signals_of(told), std::vector<std::size_t>{15});
  EXPECT_THAT(sentence_of(told), HasSubstr("1 of 24 batches is not like the others in flow at"));
  EXPECT_THAT(words_of_batch(told, 15),
              AllOf(HasSubstr("flow at"), HasSubstr(" higher"), HasSubstr("current at"),
                    HasSubstr(" lower"), HasSubstr("than the others of these metrics let expect")));
}

TEST(Together, BatchesThatGoTogetherAreLikeEachOther) {
  const TogetherTold told = TwoMetrics(24).told();
  EXPECT_TRUE(signals_of(told).empty());
  EXPECT_THAT(sentence_of(told), HasSubstr("None of 24 batches lies beyond the limit in flow"));
  EXPECT_EQ(told.tests, 96U);
}

TEST(Together, TestsThatLackAMetricAreCountedApart) {
  TwoMetrics store(21);
  store.keep(20, 9, 8e-4, std::nullopt);
  const TogetherTold told = store.told();
  EXPECT_EQ(told.incomplete, 1U);
  EXPECT_EQ(told.tests, 84U);
  EXPECT_THAT(sentence_of(told), HasSubstr("Tests that lack one of them: 1."));
}

TEST(Together, TooFewBatchesAreRefusedWithHowManyAreNeeded) {
  const TogetherTold told = TwoMetrics(5).told();
  EXPECT_THAT(told.refusal, HasSubstr("2 metrics together need 20 batches; here are 5."));
  EXPECT_TRUE(signals_of(told).empty());
}

TEST(Together, MetricsAreNamedOrTheCurve) {
  using List = std::vector<std::string>;
  EXPECT_EQ(std::get<List>(metrics_together("fad_400", "curve")),
            (List{"fad_400", "fad_200", "fad_600"}));
  EXPECT_EQ(std::get<List>(metrics_together("dead_head", "fad_400 dead_head")),
            (List{"dead_head", "fad_400"}));
  EXPECT_THAT(std::get<std::string>(metrics_together("fad_400", "fad_401")),
              HasSubstr("no metric fad_401"));
  EXPECT_THAT(std::get<std::string>(metrics_together("fad_400", "fad_400")),
              HasSubstr("at least one metric more"));
}

}  // namespace
}  // namespace endgate::daemon
