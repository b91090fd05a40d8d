#include "daemon/queries/moves.h"

#include <gtest/gtest.h>

namespace endgate::daemon {
namespace {

schema::MetricValue number(const std::string& id, std::optional<double> value,
                           std::optional<double> u) {
  return {.id = id, .value = value, .u = u};
}

Judgement judgement(const std::string& verdict, std::vector<schema::MetricValue> metrics) {
  return {.verdict = verdict, .metrics = std::move(metrics), .parts = {{"verdict", verdict}}};
}

TEST(Moves, AreCountedByMetricInUnitsOfUAndTheLargestNamesItsTest_M2) {
  Moves moves;
  moves.add("A", judgement("pass", {number("fad_400", 10, 0.5)}),
            judgement("pass", {number("fad_400", 11, 0.5)}));
  moves.add("B", judgement("pass", {number("fad_400", 10, 0.5)}),
            judgement("pass", {number("fad_400", 8, 0.5)}));
  moves.add("C", judgement("pass", {number("fad_400", 10, 0.5)}),
            judgement("pass", {number("fad_400", 10, 0.5)}));
  const MetricMoves& fad = moves.metrics().at("fad_400");
  EXPECT_EQ(fad.tests, 3);
  EXPECT_EQ(fad.moved, 2);
  EXPECT_DOUBLE_EQ(fad.mean_u(), -1);  // (+2 - 4) / 2
  EXPECT_DOUBLE_EQ(fad.largest_u, -4);
  EXPECT_EQ(fad.largest_of, "B");
  EXPECT_EQ(moves.numbers(), 2);
  EXPECT_EQ(moves.tests_with_numbers(), 2);
}

TEST(Moves, DoNotCountWhatAnotherBuildRounds_M1) {
  const auto moved_by = [](double value_factor, double u_factor) {
    Moves moves;
    moves.add("A", judgement("pass", {number("fad_400", 10, 0.5)}),
              judgement("pass", {number("fad_400", 10 * value_factor, 0.5 * u_factor)}));
    return moves.numbers();
  };
  EXPECT_EQ(moved_by(1 + 1e-11, 1), 0);
  EXPECT_EQ(moved_by(1 + 1e-6, 1), 1);
  EXPECT_EQ(moved_by(1, 1 + 1e-8), 0);
  EXPECT_EQ(moved_by(1, 1 + 1e-5), 1);
}

TEST(Moves, OfAnUncertaintyAreToldAsARatioTheFurthestFromOneEitherWay) {
  Moves moves;
  for (const double u : {0.6, 0.25, 0.8})
    moves.add("A", judgement("pass", {number("fad_400", 10, 0.5)}),
              judgement("pass", {number("fad_400", 10, u)}));
  EXPECT_EQ(moves.metrics().at("fad_400").u_moved, 3);
  EXPECT_EQ(moves.metrics().at("fad_400").moved, 0);
  EXPECT_DOUBLE_EQ(moves.metrics().at("fad_400").largest_u_ratio, 0.5);
}

TEST(Moves, ToldWithoutAnUncertaintyAreCountedAndNoNumberIsMadeUp) {
  Moves moves;
  moves.add("A", judgement("pass", {number("fad_400", 10, std::nullopt)}),
            judgement("pass", {number("fad_400", 11, 0.5)}));
  const MetricMoves& fad = moves.metrics().at("fad_400");
  EXPECT_EQ(fad.moved, 1);
  EXPECT_EQ(fad.without_u, 1);
  EXPECT_EQ(fad.mean_u(), 0);
}

TEST(Moves, KeepApartWhatAppearsVanishesOrIsUnknownToOneSide) {
  Moves moves;
  moves.add("A",
            judgement("pass", {number("fad_0", 1, 0.1), number("fad_200", {}, {}),
                               number("fad_400", {}, {}), number("dead_head", 3, 0.1)}),
            judgement("pass", {number("fad_0", {}, {}), number("fad_200", 2, 0.1),
                               number("fad_400", {}, {}), number("seal_leak", 4, 0.1)}));
  EXPECT_EQ(moves.metrics().at("fad_0").vanished, 1);
  EXPECT_EQ(moves.metrics().at("fad_200").appeared, 1);
  EXPECT_FALSE(moves.metrics().at("fad_400").any());
  EXPECT_EQ(moves.metrics().at("dead_head").vanished, 1);
  EXPECT_EQ(moves.metrics().at("seal_leak").appeared, 1);
  EXPECT_EQ(moves.numbers(), 4);
}

TEST(Moves, CountVerdictsBeforeAndAfter) {
  Moves moves;
  EXPECT_TRUE(moves.add("A", judgement("pass", {}), judgement("fail", {})).verdict);
  EXPECT_FALSE(moves.add("B", judgement("pass", {}), judgement("pass", {})).verdict);
  moves.add("C", judgement("undecided", {}), judgement("pass", {}));
  EXPECT_EQ(moves.verdicts(), 2);
  EXPECT_EQ(moves.verdict_table().at({"pass", "fail"}), 1);
  EXPECT_EQ(moves.verdict_table().at({"pass", "pass"}), 1);
  EXPECT_EQ(moves.verdict_table().at({"undecided", "pass"}), 1);
  EXPECT_EQ(moves.equal(), 1);
  EXPECT_TRUE(moves.any());
}

TEST(Moves, APartThatOneSideDoesNotHaveDiffers) {
  Judgement before = judgement("pass", {}), after = before;
  after.parts.emplace_back("new_part", "0123456789abcdef");
  Moves moves;
  EXPECT_FALSE(moves.add("A", before, after).equal);
  EXPECT_FALSE(moves.add("B", after, before).equal);
  EXPECT_EQ(moves.parts().at("new_part"), 2);
}

}  // namespace
}  // namespace endgate::daemon
