// What a person enters by mistake, and what can be known of it: a misread serial, readings in
// another unit, readings taken twice.

#include <gmock/gmock.h>

#include "daemon/line/accept_text.h"
#include "daemon/line/enter_calibration.h"
#include "daemon/line/enter_unit_fact.h"
#include "daemon/line/known_subject.h"
#include "tests/line/line_plant.h"

namespace endgate::test {
namespace {

using namespace endgate::daemon;
using testing::HasSubstr;

class DoubtfulEntry : public testing::Test {
 protected:
  DoubtfulEntry() {
    write_config(folder_.path() / "config", 1, 1);
    accept_all(folder_.path() / "config", folder_.path() / "data");
  }
  [[nodiscard]] schema::StoreReader reader() const {
    return schema::StoreReader(folder_.path() / "data");
  }
  Application::Entered enter(const std::string& serial) {
    schema::StoreWriter writer(folder_.path() / "data");
    return enter_unit_fact(writer, folder_.path() / "data", "return",
                           {{"serial", serial}, {"complaint", "slow"}, {"by", "Ada"}});
  }
  [[nodiscard]] BenchTexts texts() const {
    return std::get<BenchTexts>(bench_texts(reader(), "north"));
  }
  void accept(const Recalibration& made) {
    schema::StoreWriter writer(folder_.path() / "data");
    const auto answer =
        accept_text(writer, folder_.path() / "data", accept_command_of(made, "discharge_pressure"));
    ASSERT_TRUE(std::holds_alternative<Application::Accepted>(answer));
  }

  TemporaryFolder folder_;
};

TEST_F(DoubtfulEntry, AMisreadSerialIsRefusedAndALowerCaseOneIsRead) {
  const std::string good = serial(903);
  std::string wrong = good;
  wrong.back() = wrong.back() == 'A' ? 'B' : 'A';
  ASSERT_TRUE(std::holds_alternative<CommandRefusal>(enter(wrong)));
  EXPECT_EQ(std::get<CommandRefusal>(enter(wrong)).code, "U-102");
  std::string lower = good;
  for (char& c : lower) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  ASSERT_TRUE(std::holds_alternative<Application::Accepted>(enter(lower)));
  EXPECT_EQ(reader().returns_of(good).size(), 1U);
  EXPECT_TRUE(reader().returns_of(lower).empty());
}

TEST_F(DoubtfulEntry, APointListInAnotherUnitIsDoubted) {
  std::vector<analysis::CalibrationPoint> points;
  for (const double kpa : {0.0, 200.0, 400.0, 800.0}) points.push_back({kpa, kpa, 0.1});
  EXPECT_THAT(doubt_about(reader(), texts(), "discharge_pressure", points),
              HasSubstr("Are they in another unit?"));
  for (analysis::CalibrationPoint& point : points)
    point = {1005 * point.reading_si, 1000 * point.reference_si, 100};
  EXPECT_EQ(doubt_about(reader(), texts(), "discharge_pressure", points), "");
}

TEST_F(DoubtfulEntry, AReferenceOutsideTheRangeOfTheChannelIsDoubtedButNotAReading) {
  const std::vector<analysis::CalibrationPoint> litres{
      {0, 0.2, 0.1}, {0, 20.3, 0.1}, {0, 40.5, 0.1}};
  EXPECT_THAT(doubt_about(reader(), texts(), "flow", litres), HasSubstr("Is it in another unit?"));
  // Shown by a calibration that is wrong: it must be possible to mend it.
  const std::vector<analysis::CalibrationPoint> mended{
      {-0.148, 0, 1e-7}, {-0.147, 5e-4, 1e-7}, {-0.146, 1e-3, 1e-7}};
  EXPECT_EQ(doubt_about(reader(), texts(), "flow", mended), "");
}

TEST_F(DoubtfulEntry, ReadingsAreNotTakenTwice) {
  CalibrationEntry entry{.channel = "discharge_pressure",
                         .due = "2027-02-14",
                         .calibrated = "2026-11-25",
                         .by = "Ada",
                         .reference = "Balance 7"};
  for (const double pa : {0.0, 2e5, 4e5, 8e5}) entry.shown.push_back({1.005 * pa + 300, pa, 40});
  EXPECT_EQ(doubt_about(reader(), texts(), entry.channel, entry.shown), "");
  accept(std::get<Recalibration>(recalibrate(texts().calibration_text, entry)));
  EXPECT_THAT(doubt_about(reader(), texts(), entry.channel, entry.shown),
              HasSubstr("Take the readings again"));
  for (analysis::CalibrationPoint& point : entry.shown) point.reading_si = point.reference_si + 1;
  EXPECT_EQ(doubt_about(reader(), texts(), entry.channel, entry.shown), "");
}

}  // namespace
}  // namespace endgate::test
