// Which lots went into many units and batches, out of a file.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "schema/store.h"
#include "schema/verify.h"
#include "tests/cli/command.h"
#include "tests/support/store_helpers.h"

namespace endgate {
namespace {

using test::Ended;
using testing::HasSubstr;

const std::string kTestedUnit = "QH2648-0001-A";
const std::string kLots = "serial,batch,part,lot\r\n" + kTestedUnit + ",,motor,M-118\r\n" +
                          ",B-2648,reed,R-2620\r\n" + kTestedUnit + ",,motor_number,77031\r\n";

class ImportLots : public testing::Test {
 protected:
  [[nodiscard]] std::string write(const std::string& name, const std::string& text) const {
    const auto path = files_.path() / name;
    std::ofstream(path, std::ios::binary) << text;
    return path.string();
  }
  [[nodiscard]] Ended import_lots(const std::string& file,
                                  const std::vector<std::string>& more = {}) const {
    std::vector<std::string> words{"import-lots", file,     "--by",
                                   "Ada",         "--data", store_.path().string()};
    words.insert(words.end(), more.begin(), more.end());
    return test::endgate(std::move(words));
  }
  void begin_store() const {
    schema::StoreWriter writer(store_.path());
    test::append_test(writer, kTestedUnit);
  }
  [[nodiscard]] schema::StoreReader reader() const { return schema::StoreReader(store_.path()); }
  test::TemporaryFolder store_, files_;
};

TEST_F(ImportLots, KeepsOneEntryForEachUnitAndBatchWithSourceAndPerson) {
  begin_store();
  const Ended ended = import_lots(write("note.csv", kLots));
  EXPECT_EQ(ended.status, 0) << ended.err;
  EXPECT_THAT(ended.out, HasSubstr("3 lots of parts, in 2 entries"));
  const auto unit = reader().lots_of("unit", kTestedUnit);
  ASSERT_EQ(unit.size(), 1U);
  EXPECT_EQ(unit[0].fact.parts.size(), 2U);
  EXPECT_EQ(unit[0].fact.source, "note.csv");
  EXPECT_EQ(unit[0].fact.by, "Ada");
  EXPECT_EQ(reader().lots_of("batch", "B-2648").size(), 1U);
  EXPECT_THAT(test::endgate({"where", "R-2620", "--data", store_.path().string()}).out,
              HasSubstr(kTestedUnit));
  EXPECT_FALSE(schema::verify(store_.path(), false).first_bad);
}

TEST_F(ImportLots, NamesTheLineOfABadRowAndKeepsNothingOfTheFile_L1) {
  begin_store();
  const schema::Position before = reader().last_position();
  const Ended ended = import_lots(write("note.csv", kLots + kTestedUnit + ",,reed,\r\n"));
  EXPECT_EQ(ended.status, 1);
  EXPECT_THAT(ended.err, HasSubstr("note.csv:5: column \"lot\": found nothing"));
  EXPECT_THAT(ended.err, HasSubstr("Nothing was kept."));
  EXPECT_EQ(reader().last_position(), before);
}

TEST_F(ImportLots, LeavesAwayWhatIsKnownSoThatAFileMayGrow_L3) {
  begin_store();
  ASSERT_EQ(import_lots(write("note.csv", kLots)).status, 0);
  const schema::Position before = reader().last_position();
  EXPECT_THAT(import_lots(write("note.csv", kLots)).out,
              HasSubstr("Nothing new was kept. 3 parts were known before."));
  EXPECT_EQ(reader().last_position(), before);
  const Ended grown = import_lots(write("note.csv", kLots + kTestedUnit + ",,reed,R-9\r\n"));
  EXPECT_THAT(grown.out, HasSubstr("1 lot of parts, in 1 entry"));
  EXPECT_EQ(reader().lots_of("unit", kTestedUnit).back().fact.parts.size(), 1U);
}

TEST_F(ImportLots, RefusesAUnitNamedAsABatchAndASerialOfNoModelByTheirLines) {
  const test::ScenarioCopy scenario;
  const Ended accepted = test::endgate({"accept", scenario.path(), "--by", "Ada", "--why", "start",
                                        "--data", store_.path().string()});
  ASSERT_EQ(accepted.status, 0) << accepted.err;
  begin_store();
  const Ended ended = import_lots(write("note.csv", "serial,batch,part,lot\r\n," + kTestedUnit +
                                                        ",motor,M-1\r\nnonsense,,motor,M-1\r\n"));
  EXPECT_EQ(ended.status, 1);
  EXPECT_THAT(ended.err, HasSubstr("note.csv:2: column \"batch\": found \"" + kTestedUnit +
                                   "\", which is a unit here"));
  EXPECT_THAT(ended.err, HasSubstr("note.csv:3: column \"serial\": found \"nonsense\""));
  EXPECT_TRUE(reader().lots_of("batch", kTestedUnit).empty());
}

TEST_F(ImportLots, OnlyChecksInADryRunAndNeedsNoStoreForIt) {
  const Ended ended = import_lots(write("note.csv", kLots), {"--dry-run"});
  EXPECT_EQ(ended.status, 0) << ended.err;
  EXPECT_THAT(ended.out, HasSubstr("3 lots of parts could be kept"));
  EXPECT_FALSE(std::filesystem::exists(store_.path() / "records.db"));
}

}  // namespace
}  // namespace endgate
