#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <memory>

#include "daemon/definitions/serial.h"
#include "schema/store.h"
#include "tests/cli/command.h"
#include "tests/support/store_helpers.h"

namespace endgate {
namespace {

using test::Ended;
using testing::HasSubstr;
using testing::StartsWith;

class Questions : public testing::Test {
 protected:
  Questions() {
    schema::StoreWriter writer(folder_.path());
    test::append_test(writer, "QH2648-0001-A");
    test::append_test(writer, "QH2648-0001-A", 2);
    writer.append(schema::Repair{
        .serial = "QH2648-0001-A", .finding = "worn ring", .parts = "ring", .by = "Ada", .at = {}});
  }
  Ended ask(std::vector<std::string> words) const {
    words.insert(words.end(), {"--data", folder_.path().string()});
    return test::endgate(std::move(words));
  }

  test::TemporaryFolder folder_;
};

TEST_F(Questions, HistoryTellsTestsRepairsAndStanding) {
  const Ended ended = ask({"history", "QH2648-0001-A"});
  EXPECT_EQ(ended.status, 0) << ended.err;
  EXPECT_THAT(ended.out, HasSubstr("1        2026-11-18 11:06  P1-60-12  north  production  pass"));
  EXPECT_THAT(ended.out, HasSubstr("repair"));
  EXPECT_THAT(ended.out, HasSubstr("worn ring; replaced: ring\n"));
  EXPECT_THAT(ended.out, HasSubstr("standing: hold. Repaired since its last test."));
}

TEST_F(Questions, BudgetTellsThroughWhichCausesEachNumberIsUncertain) {
  const Ended ended = ask({"budget", "QH2648-0001-A"});
  EXPECT_EQ(ended.status, 0) << ended.err;
  EXPECT_THAT(ended.out, StartsWith("QH2648-0001-A attempt 2\n"));
  EXPECT_THAT(ended.out, HasSubstr("fad_400"));
  EXPECT_THAT(ended.out, HasSubstr("calibration of flow, bench north, version 1"));
  EXPECT_THAT(ended.out, HasSubstr("scatter within the test"));
  EXPECT_THAT(ask({"budget", "QH2648-0001-A", "--attempt", "1"}).out, HasSubstr("attempt 1\n"));
  const Ended none = ask({"budget", "QH2648-0009-X"});
  EXPECT_EQ(none.status, 1);
  EXPECT_THAT(none.err, HasSubstr("No test of QH2648-0009-X is kept here."));
}

TEST_F(Questions, PriorsNeedAListOfCausesThatWasAccepted) {
  const Ended none = ask({"returns", "--model", "P1-60-12", "--priors"});
  EXPECT_EQ(none.status, 1);
  EXPECT_THAT(none.err, StartsWith("No list of causes of P1-60-12 was accepted here."));
  const Ended since = ask({"returns", "--model", "P1-60-12", "--priors", "--since", "2026-01-01"});
  EXPECT_THAT(since.err, HasSubstr("the other conditions were not looked at."));
}

TEST_F(Questions, HistoryTellsHowManyMoreLimitsAndWhatAVoidHadShown) {
  schema::Record record = schema::StoreReader(folder_.path()).records_of("QH2648-0001-A")[0].record;
  record.start.serial = "QH2648-0002-B";
  record.verdict = "fail";
  record.reasons = {{"above_upper", "speed_600", "Speed is above its limit."},
                    {"above_upper", "current_600", "Current is above its limit."}};
  const auto keep = [&] {
    schema::StoreWriter writer(folder_.path());
    record.start_position = writer.append(record.start);
    record.trace_sha256.reset();
    record.trace_file.clear();
    writer.append(record, std::nullopt);
  };
  keep();
  record.start.attempt = 2;
  record.verdict = "void";
  record.reasons = {{"broken_off_stopped_by_person", "", "Stopped by a person."}};
  record.would_have_been = "would have failed: flow at 600 kPa";
  keep();
  const std::string out = ask({"history", "QH2648-0002-B"}).out;
  EXPECT_THAT(out, HasSubstr("Speed is above its limit. 1 more limit is broken."));
  EXPECT_THAT(out, HasSubstr("Stopped by a person. What was completed would have failed: flow at "
                             "600 kPa."));
}

TEST_F(Questions, HistoryHoldsTheNewestTestAgainstTheBirthMetricByMetric) {
  schema::Record record = schema::StoreReader(folder_.path()).records_of("QH2648-0001-A")[0].record;
  {
    schema::StoreWriter writer(folder_.path());
    writer.append(schema::ReturnIntake{.serial = "QH2648-0001-A", .months_in_use = 6, .by = "Cy"});
    record.start.attempt = 3;
    record.start.purpose = "returned";
    for (schema::MetricValue& metric : record.metrics)
      if (metric.id == "fad_400") metric.value = 0.9 * *metric.value;
    record.start_position = writer.append(record.start);
    record.trace_sha256.reset();
    record.trace_file.clear();
    writer.append(record, std::nullopt);
  }
  const std::string out = ask({"history", "QH2648-0001-A"}).out;
  EXPECT_THAT(out, HasSubstr("against birth: Flow at 400\u00A0kPa is 10.0\u00A0% lower"));
  EXPECT_THAT(out, HasSubstr("metric "));
  EXPECT_THAT(out, HasSubstr("over its uncertainty"));
  EXPECT_THAT(out, testing::ContainsRegex("Delivery, 400.*more than its uncertainty"));
  EXPECT_THAT(out, testing::ContainsRegex("Delivery, 600.*within its uncertainty"));
  EXPECT_THAT(out, HasSubstr("middle 80 % of earlier returns of that age"));
}

TEST_F(Questions, HistoryOfAnUnknownSerialIsNegative) {
  const Ended ended = ask({"history", "QH2648-0009-Z"});
  EXPECT_EQ(ended.status, 1);
  EXPECT_EQ(ended.out, "");
}

TEST_F(Questions, HistoryOfAMistypedSerialSaysWhichIsMeant) {
  // The check character of QH2648-0001 by ISO/IEC 7064 MOD 37,36 is worked in definitions tests.
  const std::string body = "QH2648-0007";
  const std::string serial = body + *daemon::check_character(body);
  {
    schema::StoreWriter writer(folder_.path());
    test::append_test(writer, serial);
  }
  const std::string wrong = body + (serial.back() == 'Z' ? 'Y' : 'Z');
  EXPECT_THAT(ask({"history", wrong}).err, HasSubstr("Did you mean " + serial + "?"));
  EXPECT_EQ(ask({"history", "qh2648-0001-a"}).status, 0) << "small letters name the same unit";
}

TEST_F(Questions, HistoryOfALotOrABatchSaysWhatItIs) {
  {
    schema::StoreWriter writer(folder_.path());
    writer.append(schema::Lots{
        .subject_kind = "batch", .subject = "2648", .parts = {{"reed", "R-2"}}, .by = "Ada"});
  }
  EXPECT_THAT(ask({"history", "R-2"}).err, HasSubstr("It is a lot: `endgate where R-2`"));
  const std::string batch =
      schema::StoreReader(folder_.path()).records_of("QH2648-0001-A").front().record.start.batch;
  EXPECT_THAT(ask({"history", batch}).err, HasSubstr("It is a batch, not a unit."));
}

TEST_F(Questions, WhereTakesALotAsItWasEntered) {
  {
    schema::StoreWriter writer(folder_.path());
    writer.append(schema::Lots{.subject_kind = "unit",
                               .subject = "QH2648-0001-A",
                               .parts = {{"motor", "L-1"}},
                               .by = "Ada"});
  }
  EXPECT_EQ(ask({"where", "motor=L-1"}).status, 0);
  EXPECT_EQ(ask({"where", "reed=L-1"}).status, 1);
}

TEST_F(Questions, TrendShowsTheUnitPeopleUse) {
  const Ended ended = ask({"trend", "fad_400", "--model", "P1-60-12"});
  EXPECT_EQ(ended.status, 0) << ended.err;
  EXPECT_THAT(ended.out, HasSubstr("fad_400 [L/min]"));
  EXPECT_THAT(ended.out, HasSubstr("54.6"));
  EXPECT_THAT(ended.err, HasSubstr("1 with a value, the newest 1 shown"));
  const Ended unknown = ask({"trend", "fad_401", "--model", "P1-60-12"});
  EXPECT_EQ(unknown.status, 2);
  EXPECT_THAT(unknown.err, HasSubstr("There are: fad_0, fad_200"));
}

TEST_F(Questions, TrendShowsWhatWasAskedForAndNothingElse) {
  const std::vector<std::string> trend{"trend", "fad_400", "--model", "P1-60-12"};
  const auto with = [&](std::vector<std::string> more) {
    more.insert(more.begin(), trend.begin(), trend.end());
    return ask(std::move(more));
  };
  EXPECT_THAT(with({"--since", "2027-01-01"}).err, HasSubstr("\n0 with a value"));
  EXPECT_THAT(with({"--until", "2001-01-01"}).err, HasSubstr("until 2001-01-01\n0 with a value"));
  EXPECT_THAT(with({"--lot", "R-9"}).err, HasSubstr("No unit is known to hold the lot R-9."));
  EXPECT_THAT(with({"--bench-offset"}).err, HasSubstr("Product and bench cannot be told apart"));
  EXPECT_THAT(with({"--purpose", "lab"}).err, HasSubstr("\n0 with a value"));
  EXPECT_THAT(with({"--purpose", "all"}).err, HasSubstr("2 with a value, the newest 2 shown"));
  EXPECT_THAT(with({"--bench", "north"}).err, HasSubstr("1 with a value"));
  EXPECT_THAT(with({"--purpose", "all", "--count", "1"}).err,
              HasSubstr("2 with a value, the newest 1 shown"));
  for (const char* way : {"", "--batches", "--chart", "--causes"}) {
    const auto wrong = [&](const char* option, const char* value) {
      std::vector<std::string> more{option, value};
      if (*way != 0) more.emplace_back(way);
      return with(std::move(more));
    };
    EXPECT_THAT(wrong("--bench", "west").err, HasSubstr("no bench west here. There are: north"));
    EXPECT_THAT(wrong("--purpose", "fun").err, HasSubstr("no purpose fun"));
    EXPECT_THAT(wrong("--since", "2026-13-01").err, HasSubstr("no day"));
    EXPECT_EQ(wrong("--since", "soon").status, 2) << way;
  }
}

TEST_F(Questions, AModelThatIsNotThereIsNamedWithThoseThatAre) {
  const std::vector<std::vector<std::string>> all{{"trend", "fad_400"},
                                                  {"capability", "fad_400"},
                                                  {"yield"},
                                                  {"returns"},
                                                  {"risk"},
                                                  {"what-if", "fad_400", "--lower", "1"}};
  for (std::vector<std::string> words : all) {
    words.insert(words.end(), {"--model", "P9"});
    const Ended ended = ask(words);
    EXPECT_EQ(ended.status, 2) << words.front();
    EXPECT_THAT(ended.err, HasSubstr("There is no model P9 here. There are: P1-60-12."));
  }
}

TEST_F(Questions, ADraftLimitHasItsLowerBoundBelowTheUpper) {
  const auto draft = [&](const char* lower, const char* upper) {
    return ask({"what-if", "fad_400", "--model", "P1-60-12", "--lower", lower, "--upper", upper});
  };
  EXPECT_EQ(draft("50", "40").status, 2);
  EXPECT_THAT(draft("40", "40").err, HasSubstr("--lower must be below --upper"));
}

TEST_F(Questions, ExportPutsTheTableAloneOnStandardOutput) {
  const Ended ended = ask({"export", "--csv"});
  EXPECT_EQ(ended.status, 0) << ended.err;
  EXPECT_THAT(ended.out, StartsWith("position,origin,source,serial,attempt,"));
  EXPECT_EQ(std::count(ended.out.begin(), ended.out.end(), '\n'), 3);
  EXPECT_EQ(ended.err, "2 tests\n");
  EXPECT_THAT(ask({"export", "--csv", "--si"}).out, HasSubstr("fad_400 [m3/s]"));
}

TEST_F(Questions, VerifyOfAnUntouchedStoreEndsWell) {
  const Ended ended = ask({"verify", "--traces"});
  EXPECT_EQ(ended.status, 0) << ended.err;
  EXPECT_THAT(ended.out, HasSubstr("every fact is what was sealed\n"));
}

TEST_F(Questions, ReplayOfATestWithoutTraceIsNegativeAndSaysWhy) {
  const Ended ended = ask({"replay", "QH2648-0001-A", "--attempt", "1"});
  EXPECT_EQ(ended.status, 1);
  EXPECT_THAT(ended.err, HasSubstr("no trace to replay"));
  EXPECT_EQ(ask({"replay", "QH2648-0001-A", "--attempt", "3"}).status, 1);
}

TEST_F(Questions, ARunWithoutSamplesIsNotWrittenAndSaysWhy) {
  const std::filesystem::path run = folder_.path() / "run.csv";
  const Ended ended = ask({"replay", "QH2648-0001-A", "--run-to", run.string()});
  EXPECT_EQ(ended.status, 1);
  EXPECT_THAT(ended.err, HasSubstr("no trace"));
  EXPECT_FALSE(std::filesystem::exists(run));
}

TEST_F(Questions, OutputThatCannotBeWrittenIsNotSuccess) {
  std::ofstream full("/dev/full");
  ASSERT_TRUE(full) << "this system has no /dev/full";
  std::streambuf* before = std::cout.rdbuf(full.rdbuf());
  std::vector<std::string> words{"endgate", "export", "--csv", "--data", folder_.path().string()};
  std::vector<char*> arguments;
  for (std::string& word : words) arguments.push_back(word.data());
  const int status = daemon::run_command_line(static_cast<int>(arguments.size()), arguments.data());
  std::cout.rdbuf(before);
  std::cout.clear();
  EXPECT_EQ(status, 5);
}

}  // namespace
}  // namespace endgate
