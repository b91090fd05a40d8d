// Is every change of a stored fact found?

#include "schema/verify.h"

#include <gtest/gtest.h>

#include <algorithm>
#include <fstream>
#include <random>
#include <set>
#include <variant>

#include "schema/index_rows.h"
#include "schema/migrations.h"
#include "schema/seal.h"
#include "schema/signing_key.h"
#include "schema/sqlite_handle.h"
#include "schema/store.h"
#include "tests/support/entered_facts.h"
#include "tests/support/store_helpers.h"
#include "tests/support/temporary_folder.h"

namespace endgate::schema {
namespace {

namespace fs = std::filesystem;
using test::append_test;
using test::fault_of;

class Verify : public ::testing::Test {
 protected:
  Verify() {
    StoreWriter writer(folder.path());
    writer.append(Definition{.kind = "bench", .subject = "north", .text = "x"});
    for (int i = 1; i <= 5; ++i)
      append_test(writer, "QH" + std::to_string(i), 1,
                  test::made_trace(2, 2, 8, static_cast<unsigned>(i)));
    writer.append(Repair{.serial = "QH2"});
    writer.append(BenchEvent{.bench = "north", .code = "out_of_use"});
    writer.sign_head();
  }

  // A stranger with a plain connection takes the triggers away and does `sql`.
  void forge(const std::string& sql, const char* file = "records.db") {
    Database stranger(folder.path() / file, Database::Mode::read_write);
    const Statement names(stranger, "SELECT name FROM sqlite_schema WHERE type = 'trigger'");
    std::vector<std::string> triggers;
    for (Rows rows = names.query({}); rows.next();) triggers.push_back(rows.text(0));
    for (const std::string& name : triggers) stranger.run("DROP TRIGGER " + name);
    stranger.run(sql);
    ASSERT_GT(sqlite3_changes(stranger.raw()), 0) << sql << " changed nothing";
  }

  VerifyResult result(bool traces = true) { return verify(folder, traces); }

  test::TemporaryFolder folder;
};

TEST_F(Verify, CountsFactsAndTracesOfASoundStore) {
  const VerifyResult found = result();
  EXPECT_FALSE(found.first_bad) << found.what;
  EXPECT_EQ(found.facts, 14);
  EXPECT_EQ(found.traces, 5);
  EXPECT_EQ(found.head, StoreReader(folder).signed_head()->head);
}

TEST_F(Verify, FindsAChangedColumnAndNamesIt) {
  forge("UPDATE record SET verdict = 'fail' WHERE position = 6");
  const VerifyResult found = result();
  EXPECT_EQ(found.first_bad, 6);
  EXPECT_NE(found.what.find("column verdict"), std::string::npos) << found.what;
}

TEST_F(Verify, FindsAChangedMetricRow) {
  forge("UPDATE metric SET value = value * 1.01 WHERE position = 8 AND metric = 'fad_400'");
  EXPECT_EQ(result().first_bad, 8);
}

TEST_F(Verify, FindsAMetricRowThatIsGoneOrTooMany) {
  forge("DELETE FROM metric WHERE position = 8 AND metric = 'fad_400'");
  EXPECT_EQ(result().first_bad, 8);
  forge("INSERT INTO metric VALUES(8, 'fad_400', 1, 1), (6, 'other', 1, 1)");
  EXPECT_EQ(result().first_bad, 6);
}

TEST_F(Verify, FindsAChangedByteOfAFact) {
  Bytes bytes = StoreReader(folder).sealed_fact(6)->bytes;
  bytes[bytes.size() / 2] ^= 1;
  Database stranger(folder.path() / "records.db", Database::Mode::read_write);
  stranger.run("DROP TRIGGER fact_is_never_updated");
  Statement(stranger, "UPDATE fact SET bytes = ? WHERE position = 6").execute({bytes});
  const VerifyResult found = result();
  EXPECT_EQ(found.first_bad, 6);
  EXPECT_NE(found.what.find("hash"), std::string::npos) << found.what;
}

TEST_F(Verify, FindsAFactTakenOutOfTheMiddle_S3) {
  forge("DELETE FROM fact WHERE position = 7");
  EXPECT_EQ(result().first_bad, 7);
}

TEST_F(Verify, FindsATailCutOffBehindTheSignedHead) {
  forge("DELETE FROM bench_event; DELETE FROM fact WHERE position = 14");
  EXPECT_EQ(result().first_bad, 14);
}

TEST_F(Verify, FindsAnIndexRowThatBelongsToNoFact) {
  forge("INSERT INTO repair VALUES(99, 'QH3', 0)");
  const VerifyResult found = result();
  EXPECT_EQ(found.first_bad, 0);
  EXPECT_NE(found.what.find("repair"), std::string::npos) << found.what;
}

TEST_F(Verify, FindsAFileThatClaimsToBeOlderThanItsTables) {
  Database(folder.path() / "records.db", Database::Mode::read_write).run("PRAGMA user_version = 2");
  const VerifyResult found = result();
  EXPECT_EQ(found.first_bad, 0);
  EXPECT_NE(found.what.find("table withdrawal came later"), std::string::npos) << found.what;
}

TEST_F(Verify, KnowsTheTablesOfTheNewestVersion) {
  const auto newest = static_cast<std::int64_t>(kTruthFile.migrations.size());
  EXPECT_EQ(index_tables_at(newest), index_tables().size());
}

// Someone rewrites a fact and all heads after it, as anyone can without the key.
TEST_F(Verify, FindsAChainRewrittenWithoutTheKey) {
  Database stranger(folder.path() / "records.db", Database::Mode::read_write);
  stranger.run("DROP TRIGGER fact_is_never_updated; DROP TRIGGER signed_head_is_never_updated");
  const Statement last(stranger, "SELECT head FROM fact WHERE position = 13");
  Hash before{};
  {
    Rows rows = last.query({});
    ASSERT_TRUE(rows.next());
    std::ranges::copy(rows.bytes(0), before.begin());
  }
  const Bytes bytes = encode(Fact(BenchEvent{.bench = "north", .code = "forged"}));
  const Hash head = head_of(before, 14, leaf_of(bytes));
  Statement(stranger, "UPDATE fact SET bytes = ?, head = ? WHERE position = 14")
      .execute({bytes, blob(head)});
  stranger.run("DROP TRIGGER bench_event_is_never_updated; UPDATE bench_event SET code = 'forged'");
  EXPECT_EQ(result().first_bad, 14);  // the signed head is another
  Statement(stranger, "UPDATE signed_head SET head = ? WHERE position = 14").execute({blob(head)});
  const VerifyResult found = result();
  EXPECT_EQ(found.first_bad, 14);
  EXPECT_NE(found.what.find("signature"), std::string::npos) << found.what;
}

TEST_F(Verify, FindsAHeadSignedByAnotherKey) {
  test::TemporaryFolder elsewhere;
  const SigningKey other = SigningKey::create(elsewhere);
  const auto signed_head = *StoreReader(folder).signed_head();
  Bytes id;
  {
    Database database(folder.path() / "records.db", Database::Mode::read_only);
    const Statement statement(database, "SELECT store_id FROM opened");
    Rows rows = statement.query({});
    ASSERT_TRUE(rows.next());
    id = rows.bytes(0);
  }
  StoreId store{};
  std::ranges::copy(id, store.begin());
  const Signature forged =
      other.sign(signed_message(store, signed_head.position, signed_head.head));
  Database stranger(folder.path() / "records.db", Database::Mode::read_write);
  Statement(stranger,
            "INSERT INTO signed_head(position, head, public_key, signature, cause)"
            " VALUES(?, ?, ?, ?, 'export')")
      .execute(
          {signed_head.position, blob(signed_head.head), blob(other.public_key()), blob(forged)});
  EXPECT_EQ(result().first_bad, signed_head.position);
}

TEST_F(Verify, FindsAChangedTraceOnlyWhenAskedForTraces) {
  forge("UPDATE trace SET bytes = (SELECT bytes FROM trace WHERE id = 2) WHERE id = 1",
        "trace-0001.db");
  EXPECT_FALSE(result(false).first_bad);
  EXPECT_EQ(result(true).first_bad, 4);
}

TEST_F(Verify, FindsATraceThatIsGone) {
  fs::remove(folder.path() / "trace-0001.db");
  EXPECT_EQ(result(true).first_bad, 4);
}

TEST_F(Verify, AcceptsANewKeyAfterTheOldOneWasLost) {
  fs::remove(folder.path() / "signing.key");
  {
    StoreWriter writer(folder.path());
    append_test(writer, "QH9");
  }
  const VerifyResult found = result();
  EXPECT_FALSE(found.first_bad) << found.what;
  EXPECT_EQ(found.facts, 17);  // one more opening that seals the new key
}

TEST_F(Verify, ReadsWhileTheWriterGoesOn) {
  StoreWriter writer(folder.path());
  append_test(writer, "QH7");
  EXPECT_FALSE(result().first_bad);
}

// Every stored value of the file, as SQL sees them (names in any case): does a mutation touch one?
std::string everything_in(const fs::path& file) {
  Database database(file, Database::Mode::read_only);
  std::string all;
  const Statement names(database,
                        "SELECT lower(name) FROM sqlite_schema WHERE type = 'table' ORDER BY 1");
  std::vector<std::string> tables;
  for (Rows rows = names.query({}); rows.next();) tables.push_back(rows.text(0));
  for (const std::string& table : tables) {
    const Statement statement(database, "SELECT * FROM " + table);
    const int columns = static_cast<int>(
        database.number("SELECT COUNT(*) FROM pragma_table_info('" + table + "')"));
    for (Rows rows = statement.query({}); rows.next();)
      for (int c = 0; c < columns; ++c) {
        const Value value = rows.value(c);
        all += table + static_cast<char>('0' + value.index()) + rows.text(c) + "|";
      }
  }
  return all;
}

// What the traces say, however they are packed: a packed byte may change and mean the same.
std::string every_trace_in(const fs::path& file) {
  Database database(file, Database::Mode::read_only);
  const Statement statement(database, "SELECT start_position, sha256, bytes FROM trace ORDER BY 1");
  std::string all;
  for (Rows rows = statement.query({}); rows.next();)
    all += rows.text(0) + hex_of(rows.bytes(1)) + hex_of(hash_of(decode(rows.bytes(2)))) + "|";
  return all;
}

// Where two such texts begin to differ, for the sentence of a failure.
std::string changed_part(const std::string& before, const std::string& after) {
  const auto at =
      static_cast<std::size_t>(std::ranges::mismatch(before, after).in1 - before.begin());
  const std::size_t from = at < 60 ? 0 : at - 60;
  return before.substr(from, 120) + " -> " + after.substr(from, 120);
}

// One bit at a random place of `name` is another, `times` times over: how many changes touch a
// stored value?  Each of those is found, or the test fails.
int mutate(const fs::path& folder, const char* name, int times, bool traces) {
  const fs::path file = folder / name;
  const auto content_of = traces ? &every_trace_in : &everything_in;
  const std::string sound = content_of(file);
  std::ifstream in(file, std::ios::binary);
  const std::string content(std::istreambuf_iterator<char>(in), {});
  fs::remove(file.string() + "-wal");
  std::mt19937 random(20261118);
  int touched = 0;
  int found = 0;
  for (int i = 0; i < times; ++i) {
    std::string changed = content;
    const std::size_t at = random() % changed.size();
    changed[at] = static_cast<char>(changed[at] ^ (1 << random() % 8));
    std::ofstream(file, std::ios::binary) << changed;
    std::optional<std::string> now;
    const bool unreadable = fault_of([&] { now = content_of(file); }).has_value();
    if (!unreadable && *now == sound) continue;  // a byte that belongs to no stored value
    ++touched;
    bool bad = false;
    if (fault_of([&] { bad = verify(folder, traces).first_bad.has_value(); })) bad = true;
    found += bad;
    EXPECT_TRUE(bad) << name << ": bit change at byte " << at
                     << " was not found: " << (now ? changed_part(sound, *now) : "unreadable");
  }
  std::printf("%s: mutations that touch a stored value: %d, found: %d\n", name, touched, found);
  std::ofstream(file, std::ios::binary) << content;
  return touched;
}

// A fact of every kind is among them.
TEST_F(Verify, FindsEveryRandomMutationThatTouchesAStoredValue) {
  {
    StoreWriter writer(folder.path());
    test::append_entered_facts(writer, 4);
  }
  std::set<std::int64_t> kinds;
  {
    Database database(folder.path() / "records.db", Database::Mode::read_only);
    const Statement statement(database, "SELECT DISTINCT kind FROM fact");
    for (Rows rows = statement.query({}); rows.next();) kinds.insert(rows.integer(0));
  }
  EXPECT_EQ(kinds.size(), std::variant_size_v<Fact>);
  EXPECT_GT(mutate(folder, "records.db", 10'000, false), 2000);
}

TEST_F(Verify, FindsEveryRandomMutationOfAStoredTrace) {
  EXPECT_GT(mutate(folder, "trace-0001.db", 1000, true), 100);
}

}  // namespace
}  // namespace endgate::schema
