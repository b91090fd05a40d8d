// What people enter about a unit through the service, and the page they enter it on.

#include <gmock/gmock.h>

#include "schema/store.h"
#include "tests/service/served.h"
#include "tests/support/store_helpers.h"
#include "tests/support/temporary_folder.h"

namespace endgate::test {
namespace {

using testing::HasSubstr;

constexpr const char* kReturn =
    R"({"serial":"QH2648-0001-A","complaint":"weak <b>","months_in_use":"7","by":"Cy"})";

class UnitFactsServed : public testing::Test {
 protected:
  void SetUp() override {
    {
      schema::StoreWriter store(folder_.path());
      append_test(store, "QH2648-0001-A");
    }
    served_ = std::make_unique<Served>(folder_.path().string());
  }
  TemporaryFolder folder_;
  std::unique_ptr<Served> served_;
};

TEST_F(UnitFactsServed, AReturnIsKeptAndToldWithTheUnit) {
  EXPECT_EQ(status_of(served_->post("/api/v1/facts/return", kReturn)), 200);
  const std::string unit = body_of(served_->get("/api/v1/units/QH2648-0001-A"));
  EXPECT_THAT(unit, HasSubstr(R"("months_in_use":7)"));
  EXPECT_THAT(unit, HasSubstr(R"("hours_in_use":null)"));
}

TEST_F(UnitFactsServed, ADecisionChangesTheStandingThatIsAsked) {
  EXPECT_EQ(status_of(served_->post(
                "/api/v1/facts/decision",
                R"({"serial":"QH2648-0001-A","decision":"scrap","reason":"dropped","by":"Ada"})")),
            200);
  EXPECT_THAT(body_of(served_->get("/api/v1/units/QH2648-0001-A/standing")),
              HasSubstr(R"("standing":"reject")"));
}

TEST_F(UnitFactsServed, WhatIsWrongIsRefusedInWordsAndNothingIsKept) {
  const std::string refused =
      served_->post("/api/v1/facts/return", R"({"serial":"QH1","complaint":" ","by":"Cy"})");
  EXPECT_EQ(status_of(refused), 422);
  EXPECT_THAT(refused, HasSubstr("U-241"));
  EXPECT_TRUE(schema::StoreReader(folder_.path()).returns_of("QH1").empty());
  EXPECT_EQ(status_of(served_->post("/api/v1/facts/rumour", kReturn)), 404);
}

TEST_F(UnitFactsServed, ThePageOffersFormsAndShowsWhatWasEnteredAsText) {
  ASSERT_EQ(status_of(served_->post("/api/v1/facts/return", kReturn)), 200);
  const std::string page = body_of(served_->get("/units/QH2648-0001-A"));
  EXPECT_THAT(page, HasSubstr("Return: weak &lt;b&gt;; 7 months in use"));
  for (const char* kind : {"return", "repair", "decision"})
    EXPECT_THAT(page, HasSubstr("data-address=\"/api/v1/facts/" + std::string(kind)));
}

TEST_F(UnitFactsServed, AWithdrawnEntryIsStruckThroughAndToldApart) {
  ASSERT_EQ(status_of(served_->post("/api/v1/facts/return", kReturn)), 200);
  const auto position =
      schema::StoreReader(folder_.path()).returns_of("QH2648-0001-A").front().position;
  EXPECT_THAT(body_of(served_->get("/units/QH2648-0001-A")),
              HasSubstr("<option value=\"" + std::to_string(position) + "\">Return: weak"));
  const std::string body =
      R"({"position":")" + std::to_string(position) + R"(","why":"another <unit>","by":"Bo"})";
  EXPECT_EQ(status_of(served_->post("/api/v1/facts/withdrawal", body)), 200);
  EXPECT_EQ(status_of(served_->post("/api/v1/facts/withdrawal", body)), 422);
  const std::string page = body_of(served_->get("/units/QH2648-0001-A"));
  EXPECT_THAT(page, HasSubstr("<s>Return: weak &lt;b&gt;; 7 months in use</s>"));
  EXPECT_THAT(page, HasSubstr("by Bo: another &lt;unit&gt;"));
  const std::string unit = body_of(served_->get("/api/v1/units/QH2648-0001-A"));
  EXPECT_THAT(unit, HasSubstr(R"("returns":[])"));
  EXPECT_THAT(unit, HasSubstr(R"("withdrawn":[{)"));
  EXPECT_THAT(unit, HasSubstr(R"("why":"another <unit>")"));
}

TEST_F(UnitFactsServed, AUnitIsFoundByTheNumberOfItsMotor) {
  EXPECT_EQ(status_of(served_->post("/api/v1/facts/lots",
                                    R"({"subject_kind":"unit","subject":"QH2648-0001-A",)"
                                    R"("parts":"motor_number=M-77","by":"Ada"})")),
            200);
  EXPECT_THAT(body_of(served_->get("/units?serial=M-77")), HasSubstr("QH2648-0001-A"));
}

}  // namespace
}  // namespace endgate::test
