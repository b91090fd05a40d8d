// `endgate gauge`, `rating`, `compare`, `endurance`: what is asked, and what is refused.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/cli/command.h"
#include "tests/support/batch_history.h"

namespace endgate {
namespace {

using test::Ended;
using testing::HasSubstr;

class Studies : public testing::Test {
 protected:
  Studies() {
    for (int i = 0; i < 30; ++i)
      history_.keep("L" + std::to_string(i % 5), "", i / 5 % 2 == 0 ? "north" : "south", "lab",
                    1 + i / 5, 8e-4 + 1e-5 * (i % 5) + 1e-6 * (i * 7919 % 7));
  }
  Ended ask(std::vector<std::string> words) const {
    words.insert(words.end(), {"--data", history_.folder().string()});
    return test::endgate(std::move(words));
  }
  test::BatchHistory history_;
};

TEST_F(Studies, AGaugeStudyTellsItsPartsAndThePairOfBenches) {
  const Ended ended = ask({"gauge", "fad_400", "--model", "P1-60-12"});
  EXPECT_EQ(ended.status, 0) << ended.err;
  EXPECT_THAT(ended.out, HasSubstr("of 5 units of P1-60-12, 2 benches, 30 tests"));
  EXPECT_THAT(ended.out, HasSubstr("Repeats, one unit at one bench: standard deviation"));
  EXPECT_THAT(ended.out, HasSubstr("south less north:"));
}

TEST_F(Studies, AStudyThatCannotBeMadeIsNegativeAndSaysWhy) {
  const Ended ended = ask({"gauge", "fad_400", "--model", "P1-60-12", "--purpose", "production"});
  EXPECT_EQ(ended.status, 1);
  EXPECT_THAT(ended.out, HasSubstr("No study can be made of this"));
}

TEST_F(Studies, OneUnitAgainstItsKnownValue) {
  const Ended ended = ask({"gauge", "fad_400", "--model", "P1-60-12", "--units", "L0", "--bench",
                           "north", "--known", "48.0", "--width", "10"});
  EXPECT_EQ(ended.status, 0) << ended.out << ended.err;
  EXPECT_THAT(ended.out, HasSubstr("3 tests of one unit on north"));
  EXPECT_THAT(ended.out, HasSubstr("Fewer than 25 tests"));
}

TEST_F(Studies, WrongQuestionsAreUsage) {
  const auto with = [&](std::vector<std::string> more) {
    std::vector<std::string> words{"gauge", "fad_400", "--model", "P1-60-12"};
    words.insert(words.end(), more.begin(), more.end());
    return ask(std::move(words));
  };
  EXPECT_EQ(with({"--by", "moon"}).status, 2);
  EXPECT_THAT(with({"--known", "48"}).err, HasSubstr("name its serial"));
  EXPECT_THAT(with({"--known", "x", "--units", "L0"}).err, HasSubstr("is no such number"));
  EXPECT_THAT(with({"--repeats", "1"}).err, HasSubstr("a whole number from 2 on"));
  EXPECT_THAT(with({"--until", "soon"}).err, HasSubstr("is no day"));
  EXPECT_EQ(with({"--bench", "west"}).status, 2);
}

TEST_F(Studies, TheCurveOfADataSheetNeedsTenUnitsAndACoverage) {
  const Ended few = ask({"rating", "--model", "P1-60-12"});
  EXPECT_EQ(few.status, 1);
  EXPECT_THAT(few.out, HasSubstr("Ten units of P1-60-12"));
  EXPECT_THAT(ask({"rating", "--model", "P1-60-12", "--share", "101"}).err,
              HasSubstr("per cent from 50 to 99.9"));
  history_.make({});
  const Ended ended = ask({"rating", "--model", "P1-60-12", "--share", "95"});
  EXPECT_EQ(ended.status, 0) << ended.err;
  EXPECT_THAT(ended.out, HasSubstr("A data sheet of P1-60-12 may promise at least"));
}

TEST_F(Studies, UnitsSideBySideAreATable) {
  const Ended ended = ask({"compare", "L0", "L4"});
  EXPECT_EQ(ended.status, 0) << ended.err;
  EXPECT_THAT(ended.out, HasSubstr("L0/6, south"));
  EXPECT_THAT(ended.out, HasSubstr("Free-air delivery, 400 kPa"));
  EXPECT_EQ(ask({"compare", "L0", "Nobody"}).status, 1);
  EXPECT_EQ(ask({"compare", "L0"}).status, 2);
}

TEST_F(Studies, EnduranceSaysWhyNothingCanBeTold) {
  const Ended ended = ask({"endurance", "L0", "fad_400"});
  EXPECT_EQ(ended.status, 1);
  EXPECT_THAT(ended.out, HasSubstr("five different times"));
  EXPECT_EQ(ask({"endurance", "L0", "no_such"}).status, 2);
  const Ended unknown = ask({"endurance", "NOBODY", "fad_400"});
  EXPECT_EQ(unknown.status, 1);
  EXPECT_THAT(unknown.err, HasSubstr("There is no test of NOBODY here."));
  EXPECT_EQ(ask({"endurance", "L0", "fad_400", "--over", "moons"}).status, 2);
}

}  // namespace
}  // namespace endgate
