// The pages and answers about benches, calibrations and alarms.

#include <gmock/gmock.h>

#include <filesystem>
#include <fstream>
#include <iterator>

#include "daemon/line/accept_text.h"
#include "schema/store.h"
#include "tests/reports/well_formed.h"
#include "tests/service/served.h"
#include "tests/support/temporary_folder.h"

namespace endgate::test {
namespace {

using testing::HasSubstr;
using testing::Not;

class UpkeepPages : public testing::Test {
 protected:
  void SetUp() override {
    {
      schema::StoreWriter store(folder_.path());
      for (const char* file : {"benches/north.toml", "calibrations/north.toml"})
        accept(store, file);
      check(store, 100, 99.8);
      check(store, 97, 99.8);
      store.append(schema::Alarm{.bench = "north",
                                 .code = "reference_out_of_control",
                                 .state = "open",
                                 .text = "<b>R1</b> reads low.",
                                 .by = "endgate"});
    }
    served_ = std::make_unique<Served>(folder_.path().string());
    daemon::LineState line = sample_line("free");
    line.bench = "north";
    served_->application.set(line);
  }
  void accept(schema::StoreWriter& store, const std::string& file) {
    std::ifstream in(std::filesystem::path(ENDGATE_SOURCE_DIR) / "fixtures/scenario" / file);
    const std::string text{std::istreambuf_iterator<char>(in), {}};
    (void)daemon::accept_text(store, folder_.path(), {file, text, "Ada", "set-up"});
  }
  static void check(schema::StoreWriter& store, double value, double expected) {
    schema::BenchCheck made{.bench = "north", .kind = "reference_unit", .subject = "QH2601-0901-J"};
    schema::MetricValue metric;
    metric.id = "fad_400";
    metric.value = value;
    made.measured = {metric};
    metric.value = expected;
    metric.parts = {{"allowed difference", 1.4}};
    made.expected = {metric};
    made.outcome = value < 99 ? "out_of_control" : "in_control";
    made.text = "R1 was read.";
    store.append(made);
  }
  [[nodiscard]] schema::Position open_alarm_position() const {
    return schema::StoreReader(folder_.path()).open_alarms().front().position;
  }
  void check_good() {
    schema::StoreWriter store(folder_.path());
    check(store, 100, 99.8);
  }
  [[nodiscard]] std::string page(const std::string& target) const {
    return body_of(served_->get(target));
  }
  const std::string points_ =
      "reading1=0&reference1=0&u1=0.02&reading2=400&reference2=402&u2=0.02&reading3=800&"
      "reference3=804.1&u3=0.02&due=2027-02-14&by=Ada";

  TemporaryFolder folder_;
  std::unique_ptr<Served> served_;
};

TEST_F(UpkeepPages, TheBenchPageSaysWhatIsDueAndDrawsItsReferenceUnit) {
  const std::string bench = page("/benches/north");
  EXPECT_THAT(bench, HasSubstr("This bench judges no units just now."));
  EXPECT_THAT(bench, HasSubstr("B-310"));
  EXPECT_THAT(bench, HasSubstr("Outlet pressure"));
  EXPECT_THAT(bench, HasSubstr("/benches/north/calibrate?channel=discharge_pressure"));
  EXPECT_THAT(bench, HasSubstr("Reference unit, bench R1"));
  EXPECT_THAT(bench, HasSubstr("out of control above"));
}

TEST_F(UpkeepPages, TheListOfBenchesSaysWhatIsDueOpenAndValid) {
  schema::StoreWriter(folder_.path())
      .append(schema::Alarm{.bench = "north",
                            .code = "channel_silent_again",
                            .state = "open",
                            .text = "Channel speed was silent.",
                            .by = "endgate"});
  const std::string list = page("/benches");
  EXPECT_THAT(list, HasSubstr("In contact, no test runs."));
  EXPECT_THAT(list, HasSubstr("B-310"));
  EXPECT_THAT(list, HasSubstr("The check \u201Cflow nozzle\u201D was never made."));
  EXPECT_THAT(list, HasSubstr("Open alarm: Channel speed was silent."));
  EXPECT_THAT(list, Not(HasSubstr("Open alarm: &lt;b&gt;R1"))) << "B-310 says it";
  EXPECT_THAT(list, HasSubstr(": R1 was read."));
  EXPECT_THAT(list, HasSubstr("No calibration states until when it is valid."));
  daemon::LineState line = sample_line("free");
  line.bench = "north";
  line.live.condition = daemon::BenchCondition::connecting;
  line.live.condition_text = "No contact with bench north.";
  served_->application.set(line);
  EXPECT_THAT(page("/benches"), HasSubstr("No contact with bench north."));
}

// Upkeep is one of several things that keep a bench from judging.
TEST_F(UpkeepPages, TheBenchPageClaimsNoMoreThanItKnows) {
  schema::StoreWriter(folder_.path())
      .append(schema::Alarm{.opened = open_alarm_position(),
                            .bench = "north",
                            .code = "reference_out_of_control",
                            .state = "closed",
                            .text = "<b>R1</b> reads low.",
                            .cause = "wet",
                            .action = "dried",
                            .by = "Ada"});
  check_good();
  EXPECT_THAT(page("/benches/north"),
              HasSubstr("Nothing that is due keeps this bench from judging units."));
  daemon::LineState line = sample_line("press-stop");
  line.bench = "north";
  served_->application.set(line);
  EXPECT_THAT(page("/benches/north"),
              HasSubstr("This bench judges no units just now: Off was sent and current still"));
  line = sample_line("free");
  line.bench = "north";
  line.live.condition = daemon::BenchCondition::connecting;
  line.live.condition_text = "No contact with bench north.";
  served_->application.set(line);
  EXPECT_THAT(page("/benches/north"),
              HasSubstr("This bench judges no units just now: No contact with bench north."));
  line.live.condition = daemon::BenchCondition::ready;
  line.live.may_be_under_pressure = true;
  served_->application.set(line);
  EXPECT_THAT(page("/benches/north"), HasSubstr("just now: The unit on it may be under pressure."));
}

TEST_F(UpkeepPages, AClosedAlarmDoesNotMakeABenchRight) {
  {
    schema::StoreWriter store(folder_.path());
    schema::Alarm closed = schema::StoreReader(folder_.path()).open_alarms().front().fact;
    closed.opened = schema::StoreReader(folder_.path()).open_alarms().front().position;
    closed.state = "closed";
    closed.by = "Ada";
    closed.cause = "worn ring";
    closed.action = "replaced";
    store.append(closed);
  }
  std::string bench = page("/benches/north");
  EXPECT_THAT(bench, HasSubstr("does not show that this bench reads right"));
  EXPECT_THAT(bench, HasSubstr("Test R1, QH2601-0901-J, or another reference unit. B-311"));
  EXPECT_THAT(bench, Not(HasSubstr("Nothing that is due")));
  check_good();
  bench = page("/benches/north");
  EXPECT_THAT(bench, HasSubstr("Nothing that is due keeps this bench from judging units."));
}

TEST_F(UpkeepPages, ABenchWithoutContactJudgesNothing) {
  daemon::LineState line = sample_line("free");
  line.bench = "north";
  line.live.condition = daemon::BenchCondition::connecting;
  line.live.condition_text = "No contact with 127.0.0.1:7201.";
  served_->application.set(line);
  EXPECT_THAT(page("/benches/north"),
              HasSubstr("This bench judges no units just now: No contact with 127.0.0.1:7201."));
}

TEST_F(UpkeepPages, ACalibrationIsShownBeforeItIsAccepted) {
  EXPECT_THAT(page("/benches/north/calibrate"), HasSubstr("Calibrate Outlet pressure"));
  const std::string fitted = page("/benches/north/calibrate?channel=discharge_pressure&" + points_);
  EXPECT_THAT(fitted, HasSubstr("Line and residuals"));
  EXPECT_THAT(fitted, HasSubstr("1.00512"));
  EXPECT_THAT(fitted, HasSubstr("Accept as Ada"));
  EXPECT_THAT(page("/benches/north/calibrate?channel=flow&reading1=1&reference1=x&u1=0"),
              HasSubstr("Line 1 of the points is not three numbers"));
}

TEST_F(UpkeepPages, AreWellFormedAndHaveNothingInline) {
  for (const std::string& target :
       {std::string("/benches"), std::string("/benches/north"), std::string("/alarms"),
        "/benches/north/calibrate?channel=flow&" + points_}) {
    std::string text = page(target);
    for (const char* banned : {" style=", "<style", " onclick", "javascript:", "<b>R1"})
      EXPECT_THAT(text, Not(HasSubstr(banned))) << target;
    text.erase(0, text.find("<html"));
    for (const char* empty : {"meta", "link", "input"})
      for (std::size_t at = 0; (at = text.find("<" + std::string(empty), at)) != std::string::npos;)
        text.erase(at, text.find('>', at) - at + 1);
    EXPECT_EQ(wrong_in_markup(text), "") << target;
  }
}

TEST_F(UpkeepPages, AcceptingSendsTheNewTextWithWhoAndWhy) {
  const std::string fields =
      R"("channel":"discharge_pressure","points":"0 0 0.02\n400 402 0.02\n800 804.1 0.02",)"
      R"("due":"2027-02-14","by":"Ada")";
  EXPECT_EQ(status_of(served_->post("/api/v1/benches/north/calibrate",
                                    "{" + fields + R"(,"version":"1"})")),
            200);
  EXPECT_THAT(served_->application.commands(), testing::Contains("accept calibration north Ada"));
  const std::string late =
      served_->post("/api/v1/benches/north/calibrate", "{" + fields + R"(,"version":"0"})");
  EXPECT_EQ(status_of(late), 409);
  EXPECT_THAT(late, HasSubstr("U-233"));
}

TEST_F(UpkeepPages, AnAlarmIsListedTakenAndClosed) {
  const std::string listed = page("/api/v1/alarms");
  EXPECT_THAT(listed, HasSubstr("\"state\":\"open\""));
  const std::size_t at = listed.find("\"alarm\":") + 8;
  const std::string number = listed.substr(at, listed.find(',', at) - at);
  EXPECT_THAT(page("/alarms"), HasSubstr("Nobody has taken it over."));
  EXPECT_THAT(page("/alarms"), HasSubstr("reference out of control, bench north"));
  const std::string target = "/api/v1/alarms/" + number;
  EXPECT_EQ(status_of(served_->post(target, R"({"state":"owned","by":"Ada"})")), 200);
  EXPECT_THAT(page("/alarms"), HasSubstr("Taken over by Ada."));
  EXPECT_EQ(status_of(served_->post(target, R"({"state":"closed","by":"Ada"})")), 422);
  EXPECT_EQ(status_of(served_->post(
                target, R"({"state":"closed","by":"Ada","cause":"wet","action":"dried"})")),
            200);
  EXPECT_THAT(page("/alarms"), HasSubstr("No alarm is open."));
  EXPECT_EQ(status_of(served_->post(target, R"({"state":"owned","by":"Ada"})")), 404);
}

TEST_F(UpkeepPages, ACheckIsEnteredAndListed) {
  EXPECT_EQ(status_of(served_->post("/api/v1/benches/north/checks",
                                    R"({"kind":"wear_part","subject":"coupling","by":"Ada"})")),
            200);
  EXPECT_THAT(page("/api/v1/benches/north/checks"), HasSubstr("\"outcome\":\"replaced\""));
  EXPECT_EQ(status_of(served_->post("/api/v1/benches/north/checks",
                                    R"({"kind":"flow_nozzle","by":"Ada"})")),
            422);
}

TEST_F(UpkeepPages, AWithdrawnCheckIsShownApartAndATestOfAReferenceUnitStays) {
  ASSERT_EQ(status_of(served_->post("/api/v1/benches/north/checks",
                                    R"({"kind":"wear_part","subject":"coupling","by":"Ada"})")),
            200);
  const auto checks = schema::StoreReader(folder_.path()).bench_checks("north");
  const auto withdraw = [&](schema::Position position) {
    return served_->post("/api/v1/facts/withdrawal", R"({"position":")" + std::to_string(position) +
                                                         R"(","why":"another bench","by":"Bo"})");
  };
  EXPECT_THAT(withdraw(checks.front().position), HasSubstr("a test of a reference unit showed"));
  ASSERT_EQ(status_of(withdraw(checks.back().position)), 200);
  const std::string told = page("/api/v1/benches/north/checks");
  EXPECT_THAT(told, Not(HasSubstr("\"outcome\":\"replaced\"")));
  EXPECT_THAT(told, HasSubstr("\"why\":\"another bench\""));
  EXPECT_THAT(page("/benches/north"), HasSubstr("by Bo: another bench. It said: wear part"));
}

}  // namespace
}  // namespace endgate::test
