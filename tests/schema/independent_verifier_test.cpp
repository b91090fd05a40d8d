// Does a verifier in another language, written from the document alone, agree?

#include <gtest/gtest.h>

#include "schema/sha256.h"
#include "schema/sqlite_handle.h"
#include "schema/verify.h"
#include "tests/support/entered_facts.h"
#include "tests/support/second_opinion.h"
#include "tests/support/store_helpers.h"
#include "tests/support/temporary_folder.h"

namespace endgate::schema {
namespace {

using test::second_opinion;
using Answer = test::SecondOpinion;

class IndependentVerifier : public ::testing::Test {
 protected:
  IndependentVerifier() {
    StoreWriter writer(folder.path());
    test::append_test(writer, "QH1", 1, test::made_trace(1, 1, 1, 1));
    test::append_entered_facts(writer, 3);
    writer.append(Repair{.serial = "QH1"});
    writer.append(Definition{.kind = "bench", .subject = "north", .text = "x"});
    writer.append(BenchEvent{.bench = "north"});
  }
  void forge(const std::string& table, const std::string& change) {
    Database stranger(folder.path() / "records.db", Database::Mode::read_write);
    stranger.run("DROP TRIGGER " + table + "_is_never_updated; UPDATE " + table + " SET " + change);
  }
  test::TemporaryFolder folder;
};

TEST_F(IndependentVerifier, FindsTheSameFactsAndTheSameHead) {
  const VerifyResult ours = verify(folder, false);
  const Answer theirs = second_opinion(folder);
  EXPECT_EQ(theirs.status, 0) << theirs.text;
  EXPECT_NE(theirs.text.find("facts: " + std::to_string(ours.facts) + "\n"), std::string::npos);
  EXPECT_NE(theirs.text.find("head: " + hex_of(ours.head) + "\n"), std::string::npos)
      << theirs.text;
}

TEST_F(IndependentVerifier, NamesTheSameFirstBadFact) {
  for (const auto& [table, change] : std::vector<std::pair<std::string, std::string>>{
           {"alarm", "opened = 1 WHERE state = 'owned'"},
           {"lot", "lot = 'x' WHERE part = 'reed'"},
           {"metric", "u = 1 WHERE metric = 'fad_400'"},
           {"start", "batch = 'x'"},
           {"fact", "bytes = x'00' WHERE position = 2"}}) {
    forge(table, change);
    const VerifyResult ours = verify(folder, false);
    const Answer theirs = second_opinion(folder);
    ASSERT_TRUE(ours.first_bad) << table;
    EXPECT_EQ(theirs.status, 1) << table;
    EXPECT_NE(theirs.text.find("position " + std::to_string(*ours.first_bad) + ":"),
              std::string::npos)
        << table << ": " << theirs.text << "; ours " << *ours.first_bad << " " << ours.what;
  }
}

}  // namespace
}  // namespace endgate::schema
