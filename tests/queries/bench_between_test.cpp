// What benches read differently is taken out of a unit's comparison with its birth.

#include "daemon/queries/bench_between.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <map>

#include "daemon/queries/against_birth.h"
#include "tests/support/made_facts.h"
#include "tests/support/temporary_folder.h"

namespace endgate::daemon {
namespace {

using testing::EndsWith;

constexpr double kScatter = 8e-7;  // 0.1 % of a reference unit's 8e-4 m3/s

struct Kept {
  std::string serial, bench = "north", purpose = "production";
  double flow = 9e-4;
  int calibration = 1;
  std::string batch{}, model = "P1-60-12", verdict = "pass";
};

class BenchBetween : public testing::Test {
 protected:
  schema::Position keep(const Kept& kept) {
    schema::Record record;
    record.start = test::made_start(kept.serial, ++attempts_[kept.serial]);
    record.start.bench = kept.bench;
    record.start.purpose = kept.purpose;
    record.start.batch = kept.batch;
    record.start.model = kept.model;
    record.start_position = writer_.append(record.start);
    record.verdict = kept.verdict;
    record.standing = "release";
    record.metrics = {test::made_metric("fad_400", kept.flow)};
    record.context_ids = {"bench " + kept.bench + "@1",
                          "calibration " + kept.bench + "@" + std::to_string(kept.calibration)};
    return writer_.append(record, std::nullopt);
  }
  // A reference unit some times on a bench, scattered about `flow`.
  void check(const std::string& unit, const std::string& bench, double flow, int times,
             int calibration = 1, const std::string& model = "P1-60-12",
             const std::string& verdict = "pass", const std::string& outcome = "in_control") {
    for (int i = 0; i < times; ++i) {
      keep({.serial = unit,
            .bench = bench,
            .purpose = "reference",
            .flow = flow + kScatter * (i % 3 - 1),
            .calibration = calibration,
            .batch = "",
            .model = model,
            .verdict = verdict});
      writer_.append(schema::BenchCheck{
          .bench = bench, .kind = "reference_unit", .subject = unit, .outcome = outcome});
    }
  }
  void learn_anew(const std::string& unit, const std::string& bench) {
    writer_.append(schema::BenchCheck{
        .bench = bench, .kind = "reference_unit", .subject = unit, .outcome = "learn_anew"});
  }
  // So much later that readings belong to one time or the other.
  void time_passes() {
    for (int i = 0; i < 100; ++i)
      writer_.append(schema::BenchEvent{.bench = "east", .code = "note", .text = "nothing"});
  }
  // Readings in batches of two benches, south reading `more`.
  void both_benches(int batches, double more) {
    for (int i = 0; i < batches; ++i) {
      const std::string batch = "b" + std::to_string(i);
      for (const char* bench : {"north", "south"})
        keep({.serial = batch + bench,
              .bench = bench,
              .flow = 9e-4 + kScatter * (i % 3) +
                      (bench == std::string("south") ? more + kScatter * (i % 2) : 0),
              .batch = batch});
    }
  }
  [[nodiscard]] UnitHistory unit() const {
    return history_of(schema::StoreReader(folder_.path()), "U");
  }
  [[nodiscard]] AgainstBirth as_measured() const {
    const UnitHistory all = unit();
    return *against_birth(all, all.tests.back());
  }
  [[nodiscard]] AgainstBirth corrected() const {
    const UnitHistory all = unit();
    return *against_birth(schema::StoreReader(folder_.path()), all, all.tests.back());
  }

  test::TemporaryFolder folder_;
  schema::StoreWriter writer_{folder_.path()};
  std::map<std::string, std::int64_t> attempts_{};
};

// The meter drifts by -2 %: the unit looks worn, its bench's reference unit says it is not.
TEST_F(BenchBetween, ADriftOfTheBenchIsTakenOutByItsReferenceUnit) {
  check("R1", "north", 8e-4, 4);
  keep({.serial = "U"});
  time_passes();
  check("R1", "north", 0.98 * 8e-4, 4);
  keep({.serial = "U", .purpose = "returned", .flow = 0.98 * 9e-4});
  EXPECT_TRUE(as_measured().differences.front().significant());
  const AgainstBirth without = corrected();
  const analysis::Difference& flow = without.differences.front();
  ASSERT_TRUE(flow.bench);
  EXPECT_NEAR(*flow.bench, -1.6e-5, 1e-6);
  EXPECT_FALSE(flow.significant()) << *flow.e_n;
  EXPECT_GT(*flow.u, *as_measured().differences.front().u);
  EXPECT_THAT(without.sentence,
              EndsWith(" What the bench reads differently since then is taken out."));
}

// Worked by hand: 4 and 4 readings at -1, 0, 1, -1 times s0; squares about the mean 2.75 s0^2
// each, so s^2 = 5.5/6 s0^2 and u^2 = s^2 (1/4 + 1/4) 6/4.
TEST_F(BenchBetween, TheUncertaintyIsThatOfTwoMeansWithFewReadings) {
  check("R1", "north", 8e-4, 4);
  const schema::Position birth = keep({.serial = "U"});
  time_passes();
  check("R1", "north", 8.2e-4, 4);
  const schema::Position later = keep({.serial = "U", .purpose = "returned"});
  const schema::StoreReader reader(folder_.path());
  const auto readings = bench_between(reader, *reader.record_at(birth), *reader.record_at(later));
  ASSERT_TRUE(readings.contains("fad_400"));
  EXPECT_NEAR(readings.at("fad_400").reads_more, 2e-5, 1e-12);
  EXPECT_NEAR(readings.at("fad_400").u, kScatter * std::sqrt(5.5 / 6 * 0.5 * 1.5), 1e-12);
}

TEST_F(BenchBetween, TwoReadingsOfATimeAreTooFew) {
  check("R1", "north", 8e-4, 4);
  keep({.serial = "U"});
  time_passes();
  check("R1", "north", 0.98 * 8e-4, 2);
  keep({.serial = "U", .purpose = "returned", .flow = 0.98 * 9e-4});
  EXPECT_FALSE(corrected().differences.front().bench);
  EXPECT_EQ(corrected().sentence, as_measured().sentence);
}

TEST_F(BenchBetween, ReadingsUnderAnotherCalibrationStandForNoTestUnderThisOne) {
  check("R1", "north", 8e-4, 4);
  keep({.serial = "U"});
  time_passes();
  check("R1", "north", 0.97 * 8e-4, 3);     // before it was calibrated anew
  check("R1", "north", 1.01 * 8e-4, 3, 2);  // what that changed is seen too
  keep({.serial = "U", .purpose = "returned", .flow = 0.95 * 9e-4, .calibration = 2});
  EXPECT_NEAR(*corrected().differences.front().bench, 8e-6, 1e-6);
}

TEST_F(BenchBetween, AReferenceUnitOfAnotherModelSaysNothing) {
  check("R1", "north", 8e-4, 4, 1, "P2-120-24");
  keep({.serial = "U"});
  time_passes();
  check("R1", "north", 0.98 * 8e-4, 4, 1, "P2-120-24");
  keep({.serial = "U", .purpose = "returned", .flow = 0.98 * 9e-4});
  EXPECT_FALSE(corrected().differences.front().bench);
}

TEST_F(BenchBetween, AReferenceUnitThatWasLearnedAnewInBetweenSaysNothing) {
  check("R1", "north", 8e-4, 4);
  keep({.serial = "U"});
  time_passes();
  learn_anew("R1", "north");
  check("R1", "north", 0.98 * 8e-4, 4);
  keep({.serial = "U", .purpose = "returned", .flow = 0.98 * 9e-4});
  EXPECT_FALSE(corrected().differences.front().bench) << "the unit was repaired, not the bench";
}

TEST_F(BenchBetween, AUnitLearnedAnewBeforeBothTestsSaysWhatItSaysSince) {
  check("R1", "north", 7e-4, 8);
  learn_anew("R1", "north");
  check("R1", "north", 8e-4, 4);
  keep({.serial = "U"});
  time_passes();
  check("R1", "north", 0.98 * 8e-4, 4);
  keep({.serial = "U", .purpose = "returned", .flow = 0.98 * 9e-4});
  ASSERT_TRUE(corrected().differences.front().bench);
  EXPECT_NEAR(*corrected().differences.front().bench, -1.6e-5, 1e-6);
}

TEST_F(BenchBetween, AReadingThatWasNotTakenIsNone) {
  check("R1", "north", 8e-4, 4);
  keep({.serial = "U"});
  time_passes();
  check("R1", "north", 0.98 * 8e-4, 4);
  check("R1", "north", 0.5 * 8e-4, 2, 1, "P1-60-12", "pass", "not_taken");
  keep({.serial = "U", .purpose = "returned", .flow = 0.98 * 9e-4});
  ASSERT_TRUE(corrected().differences.front().bench);
  EXPECT_NEAR(*corrected().differences.front().bench, -1.6e-5, 1e-6);
}

TEST_F(BenchBetween, ABenchThatLetsItsReferenceUnitFailIsSeenAsFarAsItDrifted) {
  check("R1", "north", 8e-4, 4);
  keep({.serial = "U"});
  time_passes();
  check("R1", "north", 0.97 * 8e-4, 3);
  check("R1", "north", 0.91 * 8e-4, 3, 1, "P1-60-12", "fail", "out_of_control");
  keep({.serial = "U", .purpose = "returned", .flow = 0.94 * 9e-4});
  ASSERT_TRUE(corrected().differences.front().bench);
  EXPECT_NEAR(*corrected().differences.front().bench, -0.06 * 8e-4, 1e-6);
}

TEST_F(BenchBetween, TwoUnitsThatAgreeAreSurerThanOne) {
  check("R1", "north", 8e-4, 4);
  check("R2", "north", 8e-4, 4);
  const schema::Position birth = keep({.serial = "U"});
  time_passes();
  check("R1", "north", 8.2e-4, 4);
  check("R2", "north", 8.2e-4, 4);
  const schema::Position later = keep({.serial = "U", .purpose = "returned"});
  const schema::StoreReader reader(folder_.path());
  const auto readings = bench_between(reader, *reader.record_at(birth), *reader.record_at(later));
  ASSERT_TRUE(readings.contains("fad_400"));
  EXPECT_NEAR(readings.at("fad_400").u, kScatter * std::sqrt(5.5 / 6 * 0.5 * 1.5 / 2), 1e-12);
}

// By hand: d = 2e-5 and 2.2e-5 with the same u, so chi^2 = 2e-6^2 / (2 u^2) and u^2 chi^2 / 2 is
// 1e-6^2: half the distance between them.
TEST_F(BenchBetween, UnitsThatDifferALittleAreNoSurerThanTheyAgree) {
  check("R1", "north", 8e-4, 4);
  check("R2", "north", 8e-4, 4);
  const schema::Position birth = keep({.serial = "U"});
  time_passes();
  check("R1", "north", 8.2e-4, 4);
  check("R2", "north", 8.22e-4, 4);
  const schema::Position later = keep({.serial = "U", .purpose = "returned"});
  const schema::StoreReader reader(folder_.path());
  const auto readings = bench_between(reader, *reader.record_at(birth), *reader.record_at(later));
  ASSERT_TRUE(readings.contains("fad_400"));
  EXPECT_NEAR(readings.at("fad_400").reads_more, 2.1e-5, 1e-12);
  EXPECT_NEAR(readings.at("fad_400").u, 1e-6, 1e-12);
}

TEST_F(BenchBetween, UnitsThatContradictEachOtherSayNothing) {
  check("R1", "north", 8e-4, 4);
  check("R2", "north", 8e-4, 4);
  keep({.serial = "U"});
  time_passes();
  check("R1", "north", 0.98 * 8e-4, 4);
  check("R2", "north", 8e-4, 4);
  keep({.serial = "U", .purpose = "returned", .flow = 0.98 * 9e-4});
  EXPECT_FALSE(corrected().differences.front().bench);
}

TEST_F(BenchBetween, OneReferenceUnitOnBothBenchesTellsThemApart) {
  check("R1", "north", 8e-4, 4);
  keep({.serial = "U"});
  check("R1", "south", 8.16e-4, 4);
  keep({.serial = "U", .bench = "south", .purpose = "returned", .flow = 1.02 * 9e-4});
  EXPECT_THAT(as_measured().sentence,
              EndsWith(" The benches differ; what they read differently is not taken out."));
  EXPECT_NEAR(*corrected().differences.front().bench, 1.6e-5, 1e-6);
  EXPECT_THAT(corrected().sentence,
              EndsWith(" The benches differ; what they read differently is taken out."));
}

TEST_F(BenchBetween, BatchesThatBothBenchesHadDoSoWithWhatTheLaterReadsDifferentlySince) {
  check("S1", "south", 8e-4, 4);
  both_benches(6, 1.8e-5);
  keep({.serial = "U", .batch = "b5"});
  time_passes();
  check("S1", "south", 0.99 * 8e-4, 4);
  keep({.serial = "U", .bench = "south", .purpose = "returned", .flow = 0.99 * 9.18e-4});
  const analysis::Difference flow = corrected().differences.front();
  ASSERT_TRUE(flow.bench);
  EXPECT_NEAR(*flow.bench, 1.8e-5 + kScatter / 2 - 8e-6, 1e-7);
  EXPECT_FALSE(flow.significant());
}

TEST_F(BenchBetween, ABrokenUnitOrARetestInABatchSaysNothingOfTheBench) {
  check("S1", "south", 8e-4, 4);
  both_benches(6, 1.8e-5);
  keep({.serial = "broken", .flow = 1e-4, .batch = "b3", .verdict = "fail"});
  keep({.serial = "broken", .purpose = "retest", .flow = 2e-4, .batch = "b3"});
  keep({.serial = "U", .batch = "b5"});
  time_passes();
  check("S1", "south", 8e-4, 4);
  keep({.serial = "U", .bench = "south", .purpose = "returned", .flow = 9.18e-4});
  const analysis::Difference flow = corrected().differences.front();
  ASSERT_TRUE(flow.bench);
  EXPECT_NEAR(*flow.bench, 1.8e-5 + kScatter / 2, 1e-7);
}

TEST_F(BenchBetween, ThreeBatchesOrNoReadingSinceAreTooLittle) {
  check("S1", "south", 8e-4, 4);
  both_benches(3, 1.8e-5);
  keep({.serial = "U", .batch = "b2"});
  time_passes();
  check("S1", "south", 8e-4, 4);
  keep({.serial = "U", .bench = "south", .purpose = "returned"});
  EXPECT_FALSE(corrected().differences.front().bench);
}

TEST_F(BenchBetween, WithoutReadingsSinceBatchesAloneSayNothing) {
  both_benches(6, 1.8e-5);
  keep({.serial = "U", .batch = "b5"});
  time_passes();
  keep({.serial = "U", .bench = "south", .purpose = "returned"});
  EXPECT_FALSE(corrected().differences.front().bench);
}

}  // namespace
}  // namespace endgate::daemon
