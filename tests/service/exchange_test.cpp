// Results as files through the service.

#include <gmock/gmock.h>

#include <nlohmann/json.hpp>

#include "schema/store.h"
#include "tests/service/served.h"
#include "tests/support/entered_facts.h"
#include "tests/support/store_helpers.h"
#include "tests/support/temporary_folder.h"

namespace endgate::test {
namespace {

using nlohmann::json;
using testing::HasSubstr;
using testing::Not;

const std::string kTable =
    "serial,model,start,verdict,fad_400 [L/min]\nQH2648-0001-A,P1-60-12,2019-06-08,fail,41.5\n";

class ExchangeServed : public testing::Test {
 protected:
  void SetUp() override {
    {
      schema::StoreWriter store(folder_.path());
      append_test(store, "QH2648-0001-A");
      append_test(store, "QH2648-0002-B");
    }
    served_ = std::make_unique<Served>(folder_.path().string());
  }
  [[nodiscard]] std::string post(const std::string& text, const std::string& source) const {
    return served_->post("/api/v1/import", json({{"text", text},
                                                 {"form", "csv"},
                                                 {"source", source},
                                                 {"by", "Ada"},
                                                 {"why", "history"}})
                                               .dump());
  }
  TemporaryFolder folder_;
  std::unique_ptr<Served> served_;
};

TEST_F(ExchangeServed, GivesAPageOfResultsAsADownloadInSi) {
  const std::string answer = served_->get("/api/v1/export?form=csv&count=1");
  EXPECT_EQ(status_of(answer), 200);
  EXPECT_THAT(answer, HasSubstr("Content-Type: text/csv; charset=utf-8\r\n"));
  EXPECT_THAT(answer, HasSubstr("Content-Disposition: attachment; filename=\"results.csv\"\r\n"));
  EXPECT_THAT(answer, HasSubstr("fad_400 [m3/s]"));
  EXPECT_THAT(body_of(answer), HasSubstr("QH2648-0001-A"));
  EXPECT_THAT(body_of(answer), Not(HasSubstr("QH2648-0002-B")));
  const std::string next = served_->get("/api/v1/export?form=jsonl&behind=3");
  EXPECT_EQ(json::parse(body_of(next)).at("serial"), "QH2648-0002-B");
  for (const char* query : {"", "?form=xml", "?form=csv&count=0", "?form=csv&behind=x"})
    EXPECT_EQ(status_of(served_->get(std::string("/api/v1/export") + query)), 400) << query;
}

TEST_F(ExchangeServed, ImportsAFileOnceAndTellsItWithTheUnitApartFromItsStanding) {
  EXPECT_EQ(status_of(post(kTable, "paper book 2019")), 200);
  EXPECT_EQ(status_of(post(kTable, "again")), 422);
  const json unit = json::parse(body_of(served_->get("/api/v1/units/QH2648-0001-A")));
  ASSERT_EQ(unit.at("imported").size(), 1U);
  EXPECT_EQ(unit.at("imported")[0].at("source"), "paper book 2019");
  EXPECT_EQ(unit.at("imported")[0].at("why"), "history");
  EXPECT_EQ(unit.at("standing"), "release") << "the imported fail is no test of ours";
  EXPECT_THAT(body_of(served_->get("/units/QH2648-0001-A")),
              HasSubstr("(from paper book 2019, line 2)"));
}

TEST_F(ExchangeServed, ShowsAUnitOfWhichOnlyAnImportedResultIsKnown) {
  ASSERT_EQ(status_of(post("serial,model,start,verdict\nOLD-<1>,M,2019-06-08,pass\n", "book")),
            200);
  const std::string page = served_->get("/units?serial=OLD-%3C1%3E");
  EXPECT_EQ(status_of(page), 200);
  EXPECT_THAT(page, HasSubstr("No test of OLD-&lt;1&gt; is kept here"));
  EXPECT_THAT(page, HasSubstr("imported test, 2019-06-08: pass (from book, line 2)"));
}

TEST_F(ExchangeServed, RefusesABadRowInWordsAndKeepsNothing) {
  const std::string refused = post(kTable + "S,M,yesterday,pass,1\n", "paper book 2019");
  EXPECT_EQ(status_of(refused), 422);
  EXPECT_THAT(refused, HasSubstr("line 3: column"));
  EXPECT_EQ(imports_in(folder_.path()), 0U);
}

TEST_F(ExchangeServed, TakesLotsOfManyUnitsFromAFileAndNamesABadLine) {
  const auto post_lots = [&](const std::string& text) {
    return served_->post(
        "/api/v1/import/lots",
        json({{"text", text}, {"form", "csv"}, {"source", "note"}, {"by", "Ada"}}).dump());
  };
  const std::string rows = "serial,batch,part,lot\nQH2648-0001-A,,motor,M-1\n,48-B2,reed,R-2\n";
  const std::string refused = post_lots(rows + ",,reed,R-2\n");
  EXPECT_EQ(status_of(refused), 422);
  EXPECT_THAT(refused, HasSubstr("line 4: found neither a serial nor a batch"));
  EXPECT_TRUE(schema::StoreReader(folder_.path()).lots_of("batch", "48-B2").empty());
  const std::string kept = post_lots(rows);
  EXPECT_EQ(status_of(kept), 200);
  EXPECT_THAT(kept, HasSubstr("2 lots of parts, in 2 entries"));
  EXPECT_EQ(schema::StoreReader(folder_.path()).lots_of("batch", "48-B2").size(), 1U);
  std::string many = "serial,part,lot\n";
  for (int i = 0; i < 5000; ++i) many += "OLD-" + std::to_string(i) + ",motor,M-2\n";
  ASSERT_GT(many.size(), 65536U);
  EXPECT_EQ(status_of(post_lots(many)), 200);
}

TEST_F(ExchangeServed, ListsTheFaultsOfABadFileByTheirLines) {
  const json refused = json::parse(
      body_of(post(kTable + "S,M,yesterday,pass,1\nS,M,2019-06-08,good,1\n", "paper book 2019")));
  EXPECT_EQ(refused.at("error"), "2 faults in the file, listed by line. Nothing was kept.");
  ASSERT_EQ(refused.at("faults").size(), 2U);
  EXPECT_THAT(refused.at("faults")[0].get<std::string>(), HasSubstr("line 3: column \"start\""));
  EXPECT_THAT(refused.at("faults")[1].get<std::string>(), HasSubstr("line 4: column \"verdict\""));
  std::string many = kTable;
  for (int i = 0; i < 50; ++i) many += "S,M,yesterday,pass,1\n";
  const json cut = json::parse(body_of(post(many, "paper book 2019")));
  EXPECT_EQ(cut.at("faults").back(), "and 30 more");
  EXPECT_FALSE(json::parse(body_of(post(kTable, ""))).contains("faults"))
      << "what lacks beside the file is no fault of it";
}

TEST_F(ExchangeServed, SaysWhichRowsWereLeftAwayWhenTheGoodOnesAreKept) {
  const std::string answer =
      served_->post("/api/v1/import", json({{"text", kTable + "S,M,yesterday,pass,1\n"},
                                            {"form", "csv"},
                                            {"source", "book"},
                                            {"by", "Ada"},
                                            {"why", "history"},
                                            {"good_rows", "yes"}})
                                          .dump());
  EXPECT_EQ(status_of(answer), 200);
  const json kept = json::parse(body_of(answer));
  EXPECT_THAT(kept.at("accepted").get<std::string>(), HasSubstr("were left away"));
  ASSERT_EQ(kept.at("faults").size(), 1U);
  EXPECT_THAT(kept.at("faults")[0].get<std::string>(), HasSubstr("line 3: column"));
  EXPECT_EQ(imports_in(folder_.path()), 1U);
}

TEST_F(ExchangeServed, HasAPageWithAFormForResultsAndOneForLotsAndTheFilesSoFar) {
  const std::string before = body_of(served_->get("/import"));
  EXPECT_THAT(before, HasSubstr("data-address=\"/api/v1/import\""));
  EXPECT_THAT(before, HasSubstr("data-address=\"/api/v1/import/lots\""));
  EXPECT_THAT(before, HasSubstr("<ol class=\"faults whole\""));
  for (const char* field : {"file", "source", "by", "why", "left_out", "good_rows"})
    EXPECT_THAT(before, HasSubstr("name=\"" + std::string(field) + "\"")) << field;
  EXPECT_THAT(before, HasSubstr("None was imported yet."));
  ASSERT_EQ(status_of(post(kTable, "book <2019>")), 200);
  const std::string after = body_of(served_->get("/import"));
  EXPECT_THAT(after, HasSubstr("<th>book &lt;2019&gt;</th>"));
  EXPECT_THAT(after, HasSubstr("<td>Ada</td><td>history</td>"));
  EXPECT_THAT(body_of(served_->get("/units")), HasSubstr("href=\"/import\""));
}

// Every other command is small, and is refused before its body is read.
TEST_F(ExchangeServed, TakesALongBodyForAnImportAlone) {
  std::string table = "serial,model,start,verdict\n";
  for (int i = 0; i < 3000; ++i) table += "OLD-" + std::to_string(i) + ",M,2019-06-08,pass\n";
  ASSERT_GT(table.size(), 65536U);
  EXPECT_EQ(status_of(post(table, "paper book 2019")), 200);
  EXPECT_EQ(imports_in(folder_.path()), 3000U);
  EXPECT_EQ(status_of(served_->post("/api/v1/facts/lots", std::string(70000, ' '))), 413);
}

}  // namespace
}  // namespace endgate::test
