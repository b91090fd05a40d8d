// Results out of one store and into another, as people type it.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <fstream>

#include "schema/sha256.h"
#include "schema/store.h"
#include "schema/verify.h"
#include "tests/cli/command.h"
#include "tests/support/entered_facts.h"
#include "tests/support/store_helpers.h"

namespace endgate {
namespace {

using test::Ended;
using testing::HasSubstr;
using testing::Not;

const std::string kSerial = "QH2648-0001-A";
constexpr const char* kPaper =
    "serial,model,start,verdict,fad_400 [L/min],fad_400.u [L/min]\r\n"
    "QH2648-0001-A,P1-60-12,2019-06-08,pass,54.6,\r\n"
    "OLD-2,P1-60-12,2019-06-09,,51.2,0.5\r\n";

class Exchange : public testing::Test {
 protected:
  Exchange() {
    schema::StoreWriter writer(ours_.path());
    test::append_test(writer, kSerial);
    test::append_test(writer, "QH2648-0002-B");
  }
  [[nodiscard]] std::string write(const std::string& name, const std::string& text) const {
    const auto path = files_.path() / name;
    std::ofstream(path, std::ios::binary) << text;
    return path.string();
  }
  [[nodiscard]] static std::string read(const std::filesystem::path& path) {
    std::ifstream in(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), {}};
  }
  [[nodiscard]] static Ended say(const std::filesystem::path& store,
                                 std::vector<std::string> words) {
    words.insert(words.end(), {"--data", store.string()});
    return test::endgate(std::move(words));
  }
  [[nodiscard]] static Ended import_into(const std::filesystem::path& store,
                                         const std::string& file, const std::string& source,
                                         const std::vector<std::string>& more = {}) {
    std::vector<std::string> words{"import", file,  "--source", source,
                                   "--by",   "Ada", "--why",    "history"};
    words.insert(words.end(), more.begin(), more.end());
    return say(store, std::move(words));
  }
  [[nodiscard]] std::size_t imported() const { return test::imports_in(ours_.path()); }

  test::TemporaryFolder ours_, other_, files_;
};

// The columns behind `start`: facts of the test and its numbers.
std::string told_by_rows(const std::string& table) {
  std::istringstream in(table);
  std::string told;
  for (std::string line; std::getline(in, line);) {
    const std::size_t at = line.find("QH2648");
    if (at != std::string::npos) told += line.substr(at) + "\n";
  }
  return told;
}

// The standing is what the first store said, and is not taken over.
std::string without_standing(std::string text) {
  for (const auto& [from, to] :
       {std::pair{",release,", ",,"}, std::pair{"\"standing\":\"release\"", "\"standing\":null"}})
    for (std::size_t at = text.find(from); at != std::string::npos; at = text.find(from))
      text.replace(at, std::string(from).size(), to);
  return text;
}

TEST_F(Exchange, TakesEveryNumberFromOneStoreToAnotherAndOutAgain) {
  for (const std::string form : {"csv", "jsonl"})
    for (const bool si : {true, false}) {
      const test::TemporaryFolder empty;
      const std::string file = (files_.path() / ("out." + form)).string();
      std::vector<std::string> words{"export", "--" + form};
      if (si) words.push_back("--si");
      words.insert(words.end(), {"--out", file});
      ASSERT_EQ(say(ours_.path(), words).status, 0);
      const Ended kept = import_into(empty.path(), file, "the other plant");
      ASSERT_EQ(kept.status, 0) << kept.err;
      words.insert(words.end() - 2, "--imported");
      words.resize(words.size() - 2);
      const std::string first = told_by_rows(read(file));
      ASSERT_THAT(first, HasSubstr("QH2648-0002-B"));
      EXPECT_EQ(told_by_rows(say(empty.path(), words).out), without_standing(first)) << form;
    }
}

TEST_F(Exchange, ShowsImportedResultsApartAndLeavesTheStandingAlone_I4) {
  ASSERT_EQ(import_into(ours_.path(), write("old.csv", kPaper), "paper book 2019").status, 0);
  const Ended told = say(ours_.path(), {"history", kSerial});
  EXPECT_THAT(told.out, HasSubstr("imported test"));
  EXPECT_THAT(
      told.out,
      HasSubstr(
          "2019-06-08: pass; flow at 400\u00A0kPa 54.6 L/min (from paper book 2019, line 2)"));
  EXPECT_THAT(told.out, HasSubstr("standing: release."));
  EXPECT_THAT(say(ours_.path(), {"history", "OLD-2"}).out, Not(HasSubstr("standing:")));
  EXPECT_THAT(say(ours_.path(), {"trend", "fad_400", "--model", "P1-60-12"}).out,
              Not(HasSubstr("OLD-2")));
}

TEST_F(Exchange, KeepsSourcePersonReasonAndTheFilesHashInASealedFact) {
  const std::string file = write("old.csv", kPaper);
  const Ended ended = import_into(ours_.path(), file, "paper book 2019");
  EXPECT_THAT(ended.out, HasSubstr("2 imported results (positions "));
  const schema::StoreReader store(ours_.path());
  const schema::ImportedTest fact = store.imported_of("OLD-2").at(0).fact;
  EXPECT_EQ(fact.source, "paper book 2019");
  EXPECT_EQ(fact.line, 3);
  EXPECT_EQ(fact.by, "Ada");
  EXPECT_EQ(fact.why, "history");
  EXPECT_EQ(fact.file_sha256, schema::sha256_of(kPaper));
  EXPECT_FALSE(store.imported_of(kSerial).at(0).fact.metrics.at(0).u);
  EXPECT_FALSE(schema::verify(ours_.path(), false).first_bad);
}

TEST_F(Exchange, KeepsNothingOfAFileWithABadRowUnlessTheGoodOnesAreAskedFor_I1) {
  const std::string file =
      write("old.csv", std::string(kPaper) + "OLD-3,P1-60-12,2019-06-09,pass,\"49,9\",\r\n");
  const Ended refused = import_into(ours_.path(), file, "paper book 2019");
  EXPECT_EQ(refused.status, 1);
  EXPECT_THAT(refused.err, HasSubstr("old.csv:4: column \"fad_400 [L/min]\": found \"49,9\""));
  EXPECT_EQ(imported(), 0U);
  const Ended kept = import_into(ours_.path(), file, "paper book 2019", {"--good-rows"});
  EXPECT_EQ(kept.status, 1) << "a row was left away";
  EXPECT_EQ(imported(), 2U);
}

TEST_F(Exchange, RefusesTheSameFileAndTheSameSourceTwice_I3) {
  const std::string file = write("old.csv", kPaper);
  ASSERT_EQ(import_into(ours_.path(), file, "paper book 2019").status, 0);
  EXPECT_THAT(import_into(ours_.path(), file, "another name").err,
              HasSubstr("imported before, as \"paper book 2019\" by Ada"));
  const std::string changed =
      write("new.csv", std::string(kPaper) + "OLD-3,M,2019-06-09,pass,,\r\n");
  EXPECT_THAT(import_into(ours_.path(), changed, "paper book 2019").err,
              HasSubstr("Give each file a source of its own"));
  EXPECT_EQ(imported(), 2U);
}

TEST_F(Exchange, OnlyChecksInADryRun) {
  const std::string file = write("old.csv", kPaper);
  const Ended checked = import_into(ours_.path(), file, "paper book 2019", {"--dry-run"});
  EXPECT_EQ(checked.status, 0);
  EXPECT_THAT(checked.out, HasSubstr("2 results could be imported. Nothing was kept."));
  EXPECT_EQ(imported(), 0U);
  EXPECT_EQ(import_into(other_.path() / "none", file, "x", {"--dry-run"}).status, 0);
  EXPECT_FALSE(std::filesystem::exists(other_.path() / "none"));
}

TEST_F(Exchange, SaysWhichFormItNeeds) {
  EXPECT_THAT(import_into(ours_.path(), write("old.txt", kPaper), "x").err, HasSubstr("--form"));
  EXPECT_EQ(import_into(ours_.path(), write("old.txt", kPaper), "x", {"--form", "csv"}).status, 0);
  EXPECT_EQ(import_into(ours_.path(), (files_.path() / "none.csv").string(), "x").status, 3);
}

TEST_F(Exchange, WritesAFileWholeOrNotAtAll) {
  const auto file = files_.path() / "out.csv";
  std::ofstream(file) << "before";
  EXPECT_EQ(say(other_.path() / "no store", {"export", "--csv", "--out", file.string()}).status, 5);
  EXPECT_EQ(read(file), "before");
  EXPECT_FALSE(std::filesystem::exists(file.string() + ".new"));
  EXPECT_EQ(say(ours_.path(), {"export", "--csv", "--out", file.string()}).status, 0);
  EXPECT_THAT(read(file), HasSubstr(kSerial));
  EXPECT_EQ(say(ours_.path(), {"export", "--csv", "--jsonl"}).status, 2);
  EXPECT_EQ(say(ours_.path(), {"export", "--csv", "--since", "8.6.2019"}).status, 3);
}

}  // namespace
}  // namespace endgate
