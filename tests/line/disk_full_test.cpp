// The disk is full, or fails, under a running bench: the motor goes off, no verdict is shown, the
// page says what to do, and no result is lost as long as the service runs.

#include <gmock/gmock.h>

#include <thread>

#include "schema/verify.h"
#include "tests/line/line_plant.h"
#include "tests/support/shim_vfs.h"

namespace endgate::test {
namespace {

using daemon::LinePhase;
using daemon::LineState;
using testing::AllOf;
using testing::HasSubstr;
using testing::Not;

class DiskFull : public LinePlant {
 protected:
  DiskFull() { shim_.sync_really = false; }

  void fill(const std::string& files) {
    shim_.fail_at(ShimVfs::What::write, 1, SQLITE_FULL, files);
  }
  LineState wait_for_out_of_use() {
    return wait_for([](const LineState& state) {
      return state.phase == LinePhase::out_of_use && state.code == "S-120";
    });
  }
  [[nodiscard]] bool relay_is_closed() {
    const simbench::Words words = simbench::Libmodbus(bench_.port()).input(2, 1);
    return words.empty() || (words[0] & 4U) != 0;
  }
  void expect_whole_record_of(const std::string& unit) {
    const auto records = schema::StoreReader(data()).records_of(unit);
    ASSERT_EQ(records.size(), 1U);
    EXPECT_EQ(records[0].record.break_off, "");
    EXPECT_TRUE(records[0].record.trace_sha256) << "with its samples";
    const schema::VerifyResult verified = schema::verify(data(), true);
    EXPECT_FALSE(verified.first_bad) << verified.what;
  }

  ShimVfs shim_;
};

TEST_F(DiskFull, AtTheStartFactNoMotorStartsAndTheUnitIsFreeAgain) {
  clamp(serial(200));
  ASSERT_TRUE(std::holds_alternative<LineState>(scan(serial(200))));
  fill("records.db");
  EXPECT_THAT(say(start()), AllOf(HasSubstr("S-120"), HasSubstr("make space on the disk"),
                                  HasSubstr("No test was started")));
  EXPECT_FALSE(relay_is_closed());
  EXPECT_THAT(say(scan(serial(200))), HasSubstr("S-120"));
  shim_.heal();
  clear();
  begin(serial(200));
  wait_for_verdict();
  expect_whole_record_of(serial(200));
}

class AtTheSeal : public DiskFull, public ::testing::WithParamInterface<const char*> {
 protected:
  // The test runs to its end, and its result does not fit.
  LineState run_into_a_full_disk(const std::string& unit) {
    begin(unit);
    fill(GetParam());
    const LineState shown = wait_for_out_of_use();
    EXPECT_FALSE(shown.result);
    EXPECT_FALSE(relay_is_closed());
    EXPECT_TRUE(schema::StoreReader(data()).records_of(unit).empty());
    return shown;
  }
};

TEST_P(AtTheSeal, TheResultWaitsAndIsKeptOnceThereIsSpace) {
  const LineState shown = run_into_a_full_disk(serial(201));
  EXPECT_THAT(shown.message,
              AllOf(HasSubstr("The result of " + serial(201)), HasSubstr("it waits here"),
                    HasSubstr("Make space on the disk, then press Clear")));
  EXPECT_THAT(say(scan(serial(202))), HasSubstr("S-120"));
  clear();  // too early
  wait_for_out_of_use();
  shim_.heal();
  EXPECT_EQ(std::get<LineState>(clear()).phase, LinePhase::storing);
  const LineState verdict = wait_for_verdict();
  EXPECT_EQ(verdict.serial, serial(201));
  expect_whole_record_of(serial(201));
  begin(serial(202));
  wait_for([](const LineState& state) {
    return state.phase == LinePhase::verdict && state.serial == serial(202);
  });
}

TEST_P(AtTheSeal, AResultThatWaitsIsKeptWhenTheServiceEnds) {
  run_into_a_full_disk(serial(203));
  shim_.heal();
  close();
  expect_whole_record_of(serial(203));
}

TEST_P(AtTheSeal, WhatWasNeverKeptIsBrokenOffForTheNextService) {
  run_into_a_full_disk(serial(204));
  close();
  shim_.heal();
  open();
  const auto kept = schema::StoreReader(data()).records_of(serial(204));
  ASSERT_EQ(kept.size(), 1U);
  EXPECT_EQ(kept[0].record.reasons.at(0).code, "broken_off_daemon_restarted");
  begin(serial(205));
  wait_for_verdict();
}

INSTANTIATE_TEST_SUITE_P(Of, AtTheSeal, ::testing::Values("records.db", "trace-"),
                         [](const auto& info) { return info.index == 0 ? "Record" : "Trace"; });

class MotorUnknown : public DiskFull {
 protected:
  // The relay may take as long on the steady clock; here the bench runs faster than that.
  void edit_config() override {
    replace_value(config() / "benches/north.toml", "follow_within_ms", "120");
  }
  [[nodiscard]] bool is_kept() const {
    for (const auto& alarm : schema::StoreReader(data()).open_alarms())
      if (alarm.fact.code == "motor_state_unknown") return true;
    return false;
  }
  bool comes_to_be_kept() {
    const auto give_up = std::chrono::steady_clock::now() + 30s;
    while (!is_kept() && std::chrono::steady_clock::now() < give_up)
      std::this_thread::sleep_for(20ms);
    return is_kept();
  }
};

// What a person has to see outlives a restart, also when the disk was full as it happened.
TEST_F(MotorUnknown, IsKeptOnceThereIsSpaceAndHoldsForTheNextService) {
  begin(serial(207));
  wait_for_step("hold_800");
  fill("records.db");
  hand("relay welded");
  wait_for([](const LineState& state) { return state.phase == LinePhase::press_stop; });
  std::this_thread::sleep_for(200ms);
  EXPECT_FALSE(is_kept());
  shim_.heal();
  EXPECT_TRUE(comes_to_be_kept());
  close();
  open();
  wait_for([](const LineState& state) { return state.phase == LinePhase::press_stop; });
  hand("relay good");
}

TEST_F(MotorUnknown, IsKeptByAServiceThatEnds) {
  begin(serial(208));
  wait_for_step("hold_800");
  fill("records.db");
  hand("relay welded");
  wait_for([](const LineState& state) { return state.phase == LinePhase::press_stop; });
  std::this_thread::sleep_for(200ms);
  shim_.heal();
  close();
  EXPECT_TRUE(is_kept());
  hand("relay good");
}

TEST_F(DiskFull, AFailingDiskPromisesNothing) {
  begin(serial(206));
  shim_.fail_at(ShimVfs::What::sync, 1, SQLITE_IOERR_FSYNC, "records.db");
  const LineState shown = wait_for_out_of_use();
  EXPECT_THAT(shown.message, AllOf(HasSubstr("counts as broken off"), HasSubstr("Call plant IT")));
  EXPECT_THAT(shown.message, Not(HasSubstr("waits")));
  EXPECT_FALSE(shown.result);
}

}  // namespace
}  // namespace endgate::test
