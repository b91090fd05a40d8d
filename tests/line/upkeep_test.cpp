// What is due on a bench, and what a person enters about it.

#include <gmock/gmock.h>

#include <algorithm>
#include <chrono>
#include <sstream>

#include "daemon/definitions/date.h"
#include "daemon/definitions/load.h"
#include "daemon/line/bench_texts.h"
#include "daemon/line/enter_calibration.h"
#include "daemon/line/enter_check.h"
#include "daemon/line/upkeep_facts.h"
#include "daemon/line/upkeep_policy.h"
#include "tests/line/line_plant.h"

namespace endgate::test {
namespace {

using namespace endgate::daemon;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

std::int64_t utc_ms(const std::string& day) {
  return std::chrono::milliseconds(date_of(day)->time_since_epoch()).count();
}

class Due : public testing::Test {
 protected:
  Due() {
    const fs::path scenario = fs::path(ENDGATE_SOURCE_DIR) / "fixtures/scenario";
    bench_ = std::get<BenchDefinition>(load_bench(text_in(scenario / "benches/north.toml"), "n"));
    calibration_ = std::get<CalibrationFacts>(
        load_calibration(text_in(scenario / "calibrations/north.toml"), "n"));
    policy_.reference_check = UpkeepAnswer::ignore;
  }
  std::vector<std::string> codes(const std::string& day) {
    std::vector<std::string> codes;
    for (const UpkeepNotice& notice :
         upkeep_notices(bench_, &calibration_, policy_, kept_, utc_ms(day)))
      codes.push_back(notice.code + (notice.blocks ? " blocks" : ""));
    return codes;
  }
  void checked(const std::string& kind, const std::string& day,
               const std::string& outcome = "in_control") {
    schema::BenchCheck check{.bench = "north", .kind = kind, .outcome = outcome};
    check.at.utc_ms = utc_ms(day);
    kept_.checks.push_back({static_cast<schema::Position>(kept_.checks.size() + 1), check});
  }

  BenchDefinition bench_;
  CalibrationFacts calibration_;
  UpkeepPolicy policy_;
  BenchKept kept_;
};

TEST_F(Due, ACalibrationIsValidOnItsLastDayAndOverdueOnTheNext) {
  calibration_.channel_notes[1].due = "2027-02-14";
  EXPECT_THAT(codes("2027-02-14"), IsEmpty());
  EXPECT_THAT(codes("2027-02-15"), ElementsAre("B-312"));
  policy_.overdue_calibration = UpkeepAnswer::block;
  EXPECT_THAT(codes("2027-02-15"), ElementsAre("B-312 blocks"));
  policy_.overdue_calibration = UpkeepAnswer::ignore;
  EXPECT_THAT(codes("2027-02-15"), IsEmpty());
}

TEST_F(Due, ANoticeNamesTheChannelItIsAbout) {
  calibration_.channel_notes[1].due = "2027-02-14";
  const auto notices = upkeep_notices(bench_, &calibration_, policy_, kept_, utc_ms("2027-02-15"));
  ASSERT_EQ(notices.size(), 1U);
  EXPECT_EQ(notices[0].subject, calibration_.channels[1].first);
}

TEST_F(Due, AReferenceCheckCountsForItsHours) {
  policy_.reference_check = UpkeepAnswer::block;
  policy_.reference_check_within_h = 24;
  EXPECT_THAT(codes("2027-01-10"), ElementsAre("B-311 blocks"));
  checked("reference_unit", "2027-01-09");
  EXPECT_THAT(codes("2027-01-10"), IsEmpty());
  EXPECT_THAT(codes("2027-01-11"), ElementsAre("B-311 blocks"));
  bench_.reference_units.clear();
  EXPECT_THAT(codes("2027-01-11"), IsEmpty()) << "a bench without reference units asks for none";
}

TEST_F(Due, AReferenceTestThatSpeaksAgainstTheBenchIsDueAgainWhenItsAlarmIsClosed) {
  policy_.reference_check = UpkeepAnswer::block;
  checked("reference_unit", "2027-01-09");
  for (const std::string outcome : {"out_of_control", "not_taken", "learn_anew"}) {
    checked("reference_unit", "2027-01-09", outcome);
    EXPECT_THAT(codes("2027-01-09"), ElementsAre("B-311 blocks")) << outcome;
    EXPECT_TRUE(reference_in_doubt(kept_)) << outcome;
  }
  const schema::Alarm open{.bench = "north", .code = kAlarmOutOfControl, .state = "open"};
  checked("reference_unit", "2027-01-09", "out_of_control");
  kept_.alarms.push_back({7, open});
  EXPECT_THAT(codes("2027-01-09"), ElementsAre("B-310 blocks")) << "one trouble is said once";
  kept_.alarms.clear();
  checked("reference_unit", "2027-01-09");
  EXPECT_THAT(codes("2027-01-09"), IsEmpty());
  EXPECT_FALSE(reference_in_doubt(kept_));
}

TEST_F(Due, AnEnteredCheckIsDueAfterItsDays) {
  checked("flow_nozzle", "2027-01-01");
  EXPECT_THAT(codes("2027-01-31"), IsEmpty());
  EXPECT_THAT(codes("2027-02-01"), ElementsAre("B-313"));
}

TEST_F(Due, APartIsCountedByTheTestsSinceItWasReplaced) {
  kept_.tests_on_part = {{"coupling", 19999}};
  EXPECT_THAT(codes("2027-01-01"), IsEmpty());
  kept_.tests_on_part = {{"coupling", 20000}};
  kept_.tests_in_30_days = 3000;
  EXPECT_THAT(codes("2027-01-01"), ElementsAre("B-314"));
  EXPECT_NEAR(days_left(bench_.wear_parts[1], kept_).value(), 500000.0 / 400, 1e-9);
}

TEST_F(Due, AnOpenAlarmOfTheReferenceUnitBlocksWhateverThePolicySays) {
  schema::Alarm alarm{.bench = "north", .code = kAlarmOutOfControl, .state = "owned"};
  kept_.alarms.push_back({7, alarm});
  EXPECT_THAT(codes("2027-01-01"), ElementsAre("B-310 blocks"));
  EXPECT_TRUE(judges_units("production"));
  EXPECT_TRUE(judges_units("returned"));
  EXPECT_FALSE(judges_units("reference"));
}

// Entered by hand

TEST_F(Due, ACheckIsComputedFromItsReadings) {
  const CheckEntry entry{.bench = "north",
                         .kind = "receiver_volume",
                         .subject = "small",
                         .by = "Ada",
                         .readings =
                             "reference_volume_m3=1e-3 reference_abs_pa=600000 "
                             "receiver_abs_pa=100000 final_abs_pa=484615.4 "
                             "u_reference_rel=0.001 u_pressure_pa=50"};
  const auto check = std::get<schema::BenchCheck>(check_of(entry, bench_, calibration_));
  EXPECT_NEAR(check.measured.front().value.value(), 0.3e-3, 1e-8);
  EXPECT_EQ(check.outcome, "in_control");
  EXPECT_THAT(check.text, HasSubstr("Volume of the receiver of bench north: found 0.300"));
}

TEST_F(Due, AReadingThatIsMissingOrUnknownIsNamed) {
  CheckEntry entry{.bench = "north", .kind = "fixture_leak", .subject = "small", .by = "Ada"};
  const auto sentence = [&] {
    return std::get<CommandRefusal>(check_of(entry, bench_, calibration_)).sentence;
  };
  EXPECT_THAT(sentence(), HasSubstr("Missing: start_abs_pa, end_abs_pa, u_pressure_pa, "));
  entry.subject = "middle";
  EXPECT_THAT(sentence(), HasSubstr("name one as the subject: small, large"));
  entry.subject = "small";
  entry.readings = "start_abs_pa=7e5 end_abs_pa=6.9e5 start_k=293 end_k=293 seconds=10 volume_l=1";
  EXPECT_THAT(sentence(), HasSubstr("no reading volume_l"));
  entry.readings = "start_abs_pa=high";
  EXPECT_THAT(sentence(), HasSubstr("\"start_abs_pa=high\" is not NAME=NUMBER"));
  entry.kind = "leak";
  EXPECT_THAT(sentence(), HasSubstr("There is no check \"leak\""));
}

TEST_F(Due, TheReadingsThatAreToldAreThoseThatAreAskedFor) {
  for (const std::string kind : {"flow_nozzle", "fixture_leak", "receiver_volume"}) {
    const CheckEntry entry{.bench = "north", .kind = kind, .subject = "small", .by = "Ada"};
    const std::string missing =
        std::get<CommandRefusal>(check_of(entry, bench_, calibration_)).sentence;
    const std::string told = readings_to_type(kind);
    EXPECT_EQ(std::ranges::count(missing.substr(0, missing.find('.')), ',') + 1,
              std::ranges::count(told, '='))
        << kind;
    std::istringstream in(told);
    for (std::string each; in >> each;)
      EXPECT_THAT(missing, HasSubstr(each.substr(0, each.find('=')))) << kind;
  }
}

TEST_F(Due, PartsAndReferenceUnitsAreTakenByTheNamesOfTheBenchPage) {
  CheckEntry entry{
      .bench = "north", .kind = "wear part", .subject = "Outlet coupling", .by = "Ada"};
  const auto subject = [&] {
    const auto made = check_of(entry, bench_, calibration_);
    const auto* check = std::get_if<schema::BenchCheck>(&made);
    return check == nullptr ? std::get<CommandRefusal>(made).sentence : check->subject;
  };
  EXPECT_EQ(subject(), "coupling");
  entry.subject = "vent valve";
  EXPECT_EQ(subject(), "vent_valve");
  entry = {.bench = "north", .kind = "learn_anew", .subject = "r1", .by = "Ada"};
  EXPECT_EQ(subject(), "QH2601-0901-J");
  entry.subject = "R9";
  EXPECT_THAT(subject(), HasSubstr("name one as the subject: R1, R2"));
}

TEST(AlarmSteps, AnAlarmIsClosedOnlyWithCauseAndAction) {
  const schema::Alarm open{.bench = "north", .code = kAlarmSilent, .state = "open", .text = "x"};
  AlarmStep step{.opened = 5, .state = "closed", .by = "Ada", .cause = "cable"};
  EXPECT_TRUE(std::holds_alternative<CommandRefusal>(next_of(step, open)));
  step.action = "replaced";
  const auto closed = std::get<schema::Alarm>(next_of(step, open));
  EXPECT_EQ(closed.opened, 5);
  EXPECT_EQ(closed.text, "x");
  EXPECT_EQ(closed.cause, "cable");
  step = {.opened = 5, .state = "owned", .by = "Bea"};
  EXPECT_EQ(std::get<schema::Alarm>(next_of(step, open)).owner, "Bea");
}

TEST(AlarmSteps, OneTroubleIsOpenOnce) {
  const TemporaryFolder folder;
  schema::StoreWriter writer(folder.path());
  const auto open = [&](const std::string& code, const std::string& text) {
    open_alarm(writer, folder.path(), "north", code, text);
  };
  open(kAlarmOutOfControl, "1.8 % low");
  open(kAlarmOutOfControl, "2.1 % low");
  open(kAlarmCalibration, "flow");
  open(kAlarmCalibration, "flow");
  open(kAlarmCalibration, "speed");
  EXPECT_EQ(schema::StoreReader(folder.path()).open_alarms().size(), 3U);
}

TEST(CalibrationPoints, AreReadInTheUnitOfThePage) {
  const auto points = std::get<std::vector<analysis::CalibrationPoint>>(
      read_points("20; 20.5; 0.1\r\n\n 60,60.2 , 0.1\n", {.factor = 1, .offset = -273.15}));
  ASSERT_EQ(points.size(), 2U);
  EXPECT_DOUBLE_EQ(points[0].reference_si, 293.65);
  EXPECT_DOUBLE_EQ(points[1].u_reference_si, 0.1);
  EXPECT_THAT(std::get<std::string>(read_points("1 2 3\n1 2\n", {})), HasSubstr("Line 2"));
  EXPECT_THAT(std::get<std::string>(read_points("1 2 nan\n", {})), HasSubstr("Line 1"));
}

}  // namespace
}  // namespace endgate::test
