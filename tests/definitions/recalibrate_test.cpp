#include "daemon/definitions/recalibrate.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/definitions/scenario_text.h"

namespace endgate::daemon {
namespace {

using testing::HasSubstr;

const std::string kNorth = "calibrations/north.toml";

// The pages read 2 % high and 500 Pa too much.
CalibrationEntry pressure_entry() {
  CalibrationEntry entry{.channel = "discharge_pressure",
                         .due = "2027-02-14",
                         .calibrated = "2026-11-25",
                         .by = "Ada \"A\" Byron",
                         .reference = "Balance 7"};
  for (const double reference : {0.0, 2e5, 4e5, 6e5, 8e5})
    entry.shown.push_back({1.02 * reference + 500, reference, 40});
  return entry;
}

Recalibration done(const std::string& text, const CalibrationEntry& entry) {
  const Recalibrated made = recalibrate(text, entry);
  EXPECT_TRUE(std::holds_alternative<Recalibration>(made)) << std::get<std::string>(made);
  return std::get<Recalibration>(made);
}

const analysis::ChannelCalibration& channel_in(const CalibrationFacts& facts,
                                               const std::string& id) {
  for (const auto& [name, calibration] : facts.channels)
    if (name == id) return calibration;
  throw std::logic_error(id);
}

TEST(Recalibrate, ReplacesOneChannelAndKeepsEveryOtherLine) {
  const std::string text = scenario_text(kNorth);
  const Recalibration made = done(text, pressure_entry());
  const auto facts = std::get<CalibrationFacts>(load_calibration(made.text, kNorth));
  const analysis::ChannelCalibration& now = channel_in(facts, "discharge_pressure");
  EXPECT_NEAR(now.gain, 1 / 1.02, 1e-12);
  EXPECT_NEAR(now.offset_si, -500 / 1.02, 1e-6);
  EXPECT_NEAR(now.u_offset_si, 40, 1e-3);
  EXPECT_THAT(made.text, HasSubstr("# about 1 cm3/min at 600 kPa gauge"));
  const auto before = std::get<CalibrationFacts>(load_calibration(text, kNorth));
  EXPECT_EQ(channel_in(facts, "flow").u_gain_rel, channel_in(before, "flow").u_gain_rel);
  EXPECT_EQ(facts.receivers.size(), before.receivers.size());
}

TEST(Recalibrate, KeepsPointsDueDateAndPersonInTheText) {
  const Recalibration made = done(scenario_text(kNorth), pressure_entry());
  const auto facts = std::get<CalibrationFacts>(load_calibration(made.text, kNorth));
  const CalibrationNote& note = facts.channel_notes.front();
  EXPECT_EQ(note.due, "2027-02-14");
  EXPECT_EQ(note.by, "Ada \"A\" Byron");
  EXPECT_EQ(note.reference, "Balance 7");
  ASSERT_EQ(note.points.size(), 5U);
  EXPECT_EQ(note.points[4].reference_si, 8e5);
}

// Readings are taken with the calibration in force: the same bench calibrated twice ends where it
// was, whatever stood before.
TEST(Recalibrate, StandsOnTheBenchFileAndNotOnTheCalibrationBefore) {
  const Recalibration first = done(scenario_text(kNorth), pressure_entry());
  CalibrationEntry again = pressure_entry();
  for (analysis::CalibrationPoint& point : again.shown) point.reading_si = point.reference_si;
  again.due = "2028-02-14";
  const Recalibration second = done(first.text, again);
  EXPECT_NEAR(second.after.gain, first.after.gain, 1e-12);
  EXPECT_NEAR(second.after.offset_si, first.after.offset_si, 1e-6);
  EXPECT_EQ(second.note_before.due, "2027-02-14");
  EXPECT_EQ(second.text.find("2027-02-14"), std::string::npos) << "nothing stands twice";
}

TEST(Recalibrate, IsValidUntilALaterDayAndNotForEver) {
  CalibrationEntry entry = pressure_entry();
  for (const char* due : {"2025-02-20", "2026-11-25", "2227-02-20"}) {
    entry.due = due;
    const Recalibrated made = recalibrate(scenario_text(kNorth), entry);
    ASSERT_TRUE(std::holds_alternative<std::string>(made)) << due;
    EXPECT_THAT(std::get<std::string>(made), HasSubstr("a later day, at most ten years on"));
  }
}

TEST(Recalibrate, RefusesInASentenceThatSaysWhatToDo) {
  const auto refusal = [](const CalibrationEntry& entry) {
    return std::get<std::string>(recalibrate(scenario_text(kNorth), entry));
  };
  CalibrationEntry entry = pressure_entry();
  entry.channel = "pressure";
  EXPECT_THAT(refusal(entry), HasSubstr("There are: discharge_pressure, flow"));
  entry = pressure_entry();
  entry.due = "2027-02-30";
  EXPECT_THAT(refusal(entry), HasSubstr("found \"2027-02-30\""));
  entry = pressure_entry();
  entry.shown.resize(2);
  EXPECT_THAT(refusal(entry), HasSubstr("at least 3 points"));
  entry = pressure_entry();
  for (analysis::CalibrationPoint& point : entry.shown) point.reading_si *= 100;
  EXPECT_THAT(refusal(entry), HasSubstr("The points give a gain of 0.00"));
  entry = pressure_entry();
  for (analysis::CalibrationPoint& point : entry.shown) point.reading_si /= 2.252;
  const std::string said = refusal(entry);
  const std::size_t from = said.find("gain of ") + 8;
  EXPECT_LE(said.find(';', from) - from, 5U) << "four digits, as a person reads them: " << said;
}

TEST(LoadCalibration, ADueDayThatIsNoDayIsRefused) {
  const std::string text =
      with(scenario_text(kNorth), "u_offset_si = 100\n", "u_offset_si = 100\ndue = \"soon\"\n");
  EXPECT_THAT(texts_of(load_calibration(text, kNorth)),
              testing::ElementsAre(HasSubstr("channel[1].due: expected a day like")));
}

TEST(LoadService, ListensOnThisMachineOnly) {
  const auto text = [](const std::string& address) {
    return "kind = \"service\"\ndata_directory = \"data\"\nlisten_address = \"" + address + "\"\n";
  };
  EXPECT_THAT(texts_of(load_service(text("0.0.0.0"), "service.toml")),
              testing::ElementsAre(HasSubstr("an address of this machine alone")));
  EXPECT_TRUE(std::holds_alternative<ServiceDefinition>(load_service(text("::1"), "service.toml")));
}

TEST(LoadService, ReadsThePolicyOfUpkeep) {
  const std::string text = "kind = \"service\"\ndata_directory = \"data\"\n[upkeep]\n";
  const auto service = std::get<ServiceDefinition>(load_service(
      text + "overdue_calibration = \"block\"\nreference_check_within_h = 8\n", "service.toml"));
  EXPECT_EQ(service.upkeep.overdue_calibration, UpkeepAnswer::block);
  EXPECT_EQ(service.upkeep.overdue_check, UpkeepAnswer::warn);
  EXPECT_EQ(service.upkeep.reference_check_within_h, 8);
  EXPECT_THAT(texts_of(load_service(text + "worn_part = \"stop\"\n", "service.toml")),
              testing::ElementsAre(HasSubstr("upkeep.worn_part: expected one of \"block\"")));
}

TEST(LoadService, ReadsWhenShiftsBegin) {
  const std::string text = "kind = \"service\"\ndata_directory = \"data\"\n";
  const auto with = [&](const std::string& begins) {
    return load_service(text + "[shifts]\nbegins = " + begins + "\n", "service.toml");
  };
  EXPECT_EQ(std::get<ServiceDefinition>(with("[\"06:00\", \"14:30\"]")).shift_begins_min,
            (std::vector<int>{360, 870}));
  EXPECT_TRUE(
      std::get<ServiceDefinition>(load_service(text, "service.toml")).shift_begins_min.empty());
  for (const char* wrong : {"[\"6:00\"]", "[\"24:00\"]", "[\"06:60\"]", "[\"xx:00\"]",
                            "[\"14:00\", \"06:00\"]", "[\"06:00\", \"06:00\"]"})
    EXPECT_THAT(texts_of(with(wrong)),
                testing::ElementsAre(HasSubstr("shifts.begins: expected begin times of shifts")))
        << wrong;
}

TEST(LoadBench, ReadsReferenceUnitsDueChecksAndWearParts) {
  const std::string more =
      "\n[[reference_unit]]\nserial = \"QH1\"\nname = \"R1\"\n[[due_check]]\nkind = "
      "\"flow_nozzle\"\nevery_days = 30\n[[wear_part]]\nid = \"coupling\"\nname = \"Coupling\"\n"
      "uses_per_test = 2\ndue_after_uses = 50000\n";
  std::string text = scenario_text("benches/north.toml");
  text.resize(std::min(text.size(), text.find("# --- Upkeep")));
  const auto bench = std::get<BenchDefinition>(load_bench(text + more, "benches/north.toml"));
  ASSERT_EQ(bench.reference_units.size(), 1U);
  EXPECT_EQ(bench.reference_units[0].serial, "QH1");
  EXPECT_EQ(bench.due_checks.at(0).every_days, 30);
  EXPECT_EQ(bench.wear_parts.at(0).due_after_uses, 50000);
  EXPECT_THAT(texts_of(load_bench(text + "\n[[due_check]]\nkind = \"leak\"\nevery_days = 1\n",
                                  "benches/north.toml")),
              testing::ElementsAre(HasSubstr("due_check[1].kind: expected one of")));
}

}  // namespace
}  // namespace endgate::daemon
