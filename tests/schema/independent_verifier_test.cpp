// Does a verifier in another language, written from the document alone, agree?

#include <gtest/gtest.h>

#include <fstream>

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

// Its chain is sound, only the signature is another; without the module it says that it cannot tell.
TEST_F(IndependentVerifier, ChecksTheSignatures) {
  EXPECT_EQ(second_opinion(folder).text.find("signatures not checked"), std::string::npos)
      << "python3-nacl is missing; bash tests/run.sh installs it";
  forge("signed_head", "signature = zeroblob(64) WHERE id = 1");
  const VerifyResult ours = verify(folder, false);
  const Answer theirs = second_opinion(folder);
  ASSERT_TRUE(ours.first_bad);
  EXPECT_EQ(theirs.status, 1);
  EXPECT_NE(theirs.text.find("position " + std::to_string(*ours.first_bad) + ":"),
            std::string::npos)
      << theirs.text;
}

// Short enough to be read before it is believed.
TEST(IndependentVerifierText, HasAtMost150Lines) {
  std::ifstream in(ENDGATE_SOURCE_DIR "/schema/verify_store.py");
  int lines = 0;
  for (std::string line; std::getline(in, line);) {
    ++lines;
    EXPECT_LE(line.size(), 100U) << "line " << lines;
  }
  EXPECT_GT(lines, 50);
  EXPECT_LE(lines, 150);
}

}  // namespace
}  // namespace endgate::schema
