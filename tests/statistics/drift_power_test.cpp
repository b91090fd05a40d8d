// A drift of 1 % under a scatter of 2.5 %: is it said of the right side?  drift_benchmark asks the
// same of more histories, and after every batch.

#include <gtest/gtest.h>

#include <iostream>

#include "tests/statistics/made_history.h"

namespace endgate::statistics {
namespace {

struct Stated {
  int right = 0, wrong = 0;
};

// In sigma of one unit: 0.4 is 1 % of delivery, 0.16 the 0.4 % of a check.
Stated stated_of(const test::Planted& planted, unsigned first_seed, int histories) {
  Stated stated;
  for (int i = 0; i < histories; ++i) {
    test::HistoryMaker maker(first_seed + static_cast<unsigned>(i));
    const test::MadeHistory made = maker.make(planted, 0.16);
    const ProductOrBench said = product_or_bench(made.columns, made.checks);
    const bool of_product = said.said == ProductOrBench::Said::product;
    const bool of_bench = said.said == ProductOrBench::Said::bench;
    const bool right =
        planted.factor == "product" ? of_product : of_bench && said.bench == planted.level;
    stated.right += right;
    stated.wrong += (of_product || of_bench) && !right;
  }
  return stated;
}

TEST(DriftPower, OfWhatIsStated95PercentIsOfTheRightSide) {
  constexpr int kHistories = 40;
  const Stated bench =
      stated_of({.factor = "bench", .level = "south", .shift = -0.4}, 510'000, kHistories);
  const Stated product = stated_of({.factor = "product", .shift = -0.4}, 520'000, kHistories);
  std::cout << "one bench by 1 %: " << bench.right << " right, " << bench.wrong << " wrong of "
            << kHistories << "; the product: " << product.right << " right, " << product.wrong
            << " wrong\n";
  EXPECT_LE(20 * (bench.wrong + product.wrong),
            bench.right + bench.wrong + product.right + product.wrong);
  EXPECT_GE(bench.right, kHistories / 2);
  EXPECT_GE(product.right, kHistories / 4);
}

// Of 100 such histories of 2,000 units 12 are called a drift of the product, none one of a bench.
TEST(DriftPower, WhereNothingMovedOneHistoryInFiveAtMostIsCalledADrift) {
  const Stated clean = stated_of({}, 530'000, 40);
  EXPECT_LE(clean.wrong, 8);
}

}  // namespace
}  // namespace endgate::statistics
