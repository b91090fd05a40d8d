// The pages and answers that read a store: units, attempts, standings, trends.

#include <gmock/gmock.h>

#include "schema/store.h"
#include "tests/reports/well_formed.h"
#include "tests/service/served.h"
#include "tests/support/sample_records.h"
#include "tests/support/temporary_folder.h"

namespace endgate::test {
namespace {

using testing::HasSubstr;
using testing::Not;

const std::string kSerial = "QH2648-0117-K";

class StoredPages : public testing::Test {
 protected:
  void SetUp() override {
    schema::StoreWriter store(folder_.path());
    keep(store, sample_record(kSerial, 1, "pass"));
    keep(store, sample_record(kSerial, 2, "fail"));
    schema::Record strange = sample_record("QH2648-0118-C", 1, "undecided");
    strange.start.operator_name = "<img src=x onerror=alert(1)>";
    strange.start.batch = "<b>'\"&";
    keep(store, strange);
    served_ = std::make_unique<Served>(folder_.path().string());
  }
  static void keep(schema::StoreWriter& store, schema::Record record) {
    record.start_position = store.append(record.start);
    store.append(std::move(record), std::nullopt);
  }

  TemporaryFolder folder_;
  std::unique_ptr<Served> served_;
};

TEST_F(StoredPages, TheUnitPageShowsEveryTestAndTheLatestStanding) {
  const std::string page = body_of(served_->get("/units/" + kSerial));
  for (const char* words : {"Attempt 1, birth", "Attempt 2", "Standing: reject",
                            "Delivery, 600 kPa", "between 39.5 and 51.0", "record"})
    EXPECT_THAT(page, HasSubstr(words == std::string("record") ? "Record" : words));
  EXPECT_THAT(page, HasSubstr("<title>QH2648-0117-K, Fail</title>"));
}

TEST_F(StoredPages, AnEarlierAttemptCanBeChosen) {
  const std::string page = body_of(served_->get("/units/" + kSerial + "/1"));
  EXPECT_THAT(page, HasSubstr("<h2>Attempt 1</h2>"));
}

// Speed and current broken, delivery inside: the first sentence is not of the delivery.
TEST_F(StoredPages, AFailFirstSaysWhatDecidedAndHowManyMore) {
  schema::Record record = sample_record("QH2648-0119-X", 1, "pass");
  record.verdict = "fail";
  record.reasons = {{"above_upper", "speed_600", "Speed at 600 kPa is above its limit."},
                    {"above_upper", "current_600", "Current at 600 kPa is above its limit."}};
  {
    schema::StoreWriter store(folder_.path());
    keep(store, record);
  }
  const std::string said = "Speed at 600 kPa is above its limit. 1 more limit is broken.";
  EXPECT_THAT(body_of(served_->get("/units/QH2648-0119-X")),
              HasSubstr("<p class=\"say\">" + said + "</p>"));
  EXPECT_THAT(body_of(served_->get("/units")), HasSubstr(said));
}

TEST_F(StoredPages, AreWellFormedAndHaveNothingInline) {
  for (const std::string& target :
       {"/units/" + kSerial, std::string("/units"), std::string("/units/QH2648-0118-C"),
        std::string("/trends?model=P1-60-12&metric=fad_400"),
        std::string("/trends?model=P1-60-12&metric=back_leak&by=unit"),
        std::string("/units/nobody"), std::string("/trends?metric=no")}) {
    std::string page = body_of(served_->get(target));
    for (const char* banned : {" style=", "<style", " onclick", "<img", "javascript:"})
      EXPECT_THAT(page, Not(HasSubstr(banned))) << target;
    page.erase(0, page.find("<html"));
    for (const char* empty : {"meta", "link", "input"})  // the void elements of HTML
      for (std::size_t at = 0; (at = page.find("<" + std::string(empty), at)) != std::string::npos;)
        page.erase(at, page.find('>', at) - at + 1);
    EXPECT_EQ(wrong_in_markup(page), "") << target;
  }
}

TEST_F(StoredPages, SayWhenASerialIsNotKnown) {
  const std::string page = served_->get("/units/QH2648-0999-X");
  EXPECT_EQ(status_of(page), 404);
  EXPECT_THAT(page, HasSubstr("No unit QH2648-0999-X is known here"));
  EXPECT_EQ(status_of(served_->get("/api/v1/units/QH2648-0999-X/standing")), 404);
}

TEST_F(StoredPages, TheStandingIsOneSmallAnswer) {
  const std::string answer = body_of(served_->get("/api/v1/units/" + kSerial + "/standing"));
  EXPECT_THAT(answer, HasSubstr("\"standing\":\"reject\""));
  EXPECT_THAT(answer, HasSubstr("\"attempt\":2"));
}

TEST_F(StoredPages, TheHistoryHasEveryAttemptWithSiNumbers) {
  const std::string answer = body_of(served_->get("/api/v1/units/" + kSerial));
  EXPECT_THAT(answer, HasSubstr("\"attempt\":1"));
  EXPECT_THAT(answer, HasSubstr("\"attempt\":2"));
  EXPECT_THAT(answer, HasSubstr("\"id\":\"fad_600\",\"value_si\":0.00059"));
  EXPECT_THAT(answer, HasSubstr("\"missing_reason\":\"step not reached\""));
}

TEST_F(StoredPages, AnAttemptThatDoesNotExistIs404) {
  EXPECT_EQ(status_of(served_->get("/api/v1/units/" + kSerial + "/2")), 200);
  for (const char* attempt : {"3", "0", "-1", "x", "99999999999999999999"})
    EXPECT_EQ(status_of(served_->get("/api/v1/units/" + kSerial + "/" + attempt)), 404) << attempt;
}

TEST_F(StoredPages, ATestWithoutATraceSaysSo) {
  const std::string answer = served_->get("/api/v1/units/" + kSerial + "/1/trace");
  EXPECT_EQ(status_of(answer), 404);
  EXPECT_THAT(answer, HasSubstr("No trace is kept with this test."));
}

TEST_F(StoredPages, TheTrendHasOneRowPerTestAndRefusesUnknownMetrics) {
  const std::string answer =
      body_of(served_->get("/api/v1/trend?model=P1-60-12&metric=fad_400&count=10"));
  EXPECT_THAT(answer, HasSubstr("\"si_unit\":\"m3/s\""));
  EXPECT_THAT(answer, HasSubstr("QH2648-0118-C"));
  EXPECT_EQ(status_of(served_->get("/api/v1/trend?model=P1-60-12&metric=no")), 404);
  EXPECT_EQ(status_of(served_->get("/api/v1/trend?model=a&metric=fad_400&count=0")), 400);
}

TEST_F(StoredPages, WordsOfPeopleAreShownAsWords) {
  const std::string page = body_of(served_->get("/units/QH2648-0118-C"));
  EXPECT_THAT(page, HasSubstr("&lt;img src=x onerror=alert(1)&gt;"));
  EXPECT_THAT(page, HasSubstr("&lt;b&gt;&#39;&quot;&amp;"));
}

}  // namespace
}  // namespace endgate::test
