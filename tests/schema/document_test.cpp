// schema/README.md says what is on disk, and it is what is on disk.

#include <gtest/gtest.h>

#include <filesystem>
#include <regex>

#include "schema/fact_fields.h"
#include "schema/sqlite_handle.h"
#include "schema/store.h"
#include "schema/trend_file.h"
#include "tests/support/field_list.h"
#include "tests/support/store_helpers.h"
#include "tests/support/temporary_folder.h"

namespace endgate::test {

#define NAMED(Struct) \
  template <>         \
  inline constexpr const char* kStructName<schema::Struct> = #Struct

NAMED(WallClock);
NAMED(StoreOpened);
NAMED(Definition);
NAMED(TestStart);
NAMED(UncertaintyPart);
NAMED(MetricValue);
NAMED(BandAsWas);
NAMED(LimitAsWas);
NAMED(ReasonGiven);
NAMED(DrawnPoint);
NAMED(CurveAsFitted);
NAMED(PointAsReduced);
NAMED(HealthAsFound);
NAMED(Record);
NAMED(Repair);
NAMED(BenchEvent);
NAMED(CauseStated);
NAMED(PartLot);
NAMED(Lots);
NAMED(Disposition);
NAMED(ReturnIntake);
NAMED(Alarm);
NAMED(ImportedTest);
NAMED(TraceRemoved);
NAMED(BenchCheck);
NAMED(Withdrawal);
#undef NAMED

namespace {

template <class Struct>
class FieldsOf : public ::testing::Test {};
using Sealed = ::testing::Types<
    schema::WallClock, schema::StoreOpened, schema::Definition, schema::TestStart,
    schema::UncertaintyPart, schema::MetricValue, schema::BandAsWas, schema::LimitAsWas,
    schema::ReasonGiven, schema::DrawnPoint, schema::CurveAsFitted, schema::PointAsReduced,
    schema::HealthAsFound, schema::Record, schema::Repair, schema::BenchEvent, schema::CauseStated,
    schema::PartLot, schema::Lots, schema::Disposition, schema::ReturnIntake, schema::Alarm,
    schema::ImportedTest, schema::TraceRemoved, schema::BenchCheck, schema::Withdrawal>;
TYPED_TEST_SUITE(FieldsOf, Sealed);

TYPED_TEST(FieldsOf, AFactStandInTheDocumentInTheirOrder) {
  const std::string expected = field_list<TypeParam>();
  EXPECT_NE(words_of(schema_document()).find(expected + " "), std::string::npos) << expected;
}

// The text from the heading of `table` to the next heading.
std::string section_of(const std::string& document, const std::string& table) {
  const std::size_t from = document.find("\n### `" + table + "`");
  if (from == std::string::npos) return {};
  return document.substr(from, document.find("\n#", from + 1) - from);
}

TEST(Document, HasASectionForEveryTableAndALineForEveryColumn) {
  TemporaryFolder folder;
  schema::StoreWriter writer(folder);
  writer.append(made_start("QH1"));
  const std::string document = schema_document();
  std::size_t columns_seen = 0;
  { schema::TrendWriter(folder.path()).catch_up(schema::StoreReader(folder.path())); }
  for (const char* file : {"records.db", "trace-0001.db", "trend.db"}) {
    schema::Database database(folder.path() / file, schema::Database::Mode::read_only);
    const schema::Statement columns(
        database,
        "SELECT t.name, c.name FROM sqlite_schema t JOIN pragma_table_info(t.name) c"
        " WHERE t.type = 'table'");
    for (schema::Rows rows = columns.query({}); rows.next(); ++columns_seen)
      EXPECT_NE(section_of(document, rows.text(0)).find("\n| `" + rows.text(1) + "` |"),
                std::string::npos)
          << file << ": table " << rows.text(0) << ", column " << rows.text(1);
  }
  EXPECT_GT(columns_seen, 100U);
}

// Names of tests end in _S3 where they show S-3.
std::string text_of_all_tests() {
  std::string text;
  for (const auto& entry :
       std::filesystem::recursive_directory_iterator(ENDGATE_SOURCE_DIR "/tests"))
    if (entry.path().extension() == ".cpp") text += file_text(entry.path().string());
  return text;
}

TEST(Document, HasATestForEveryInvariant) {
  const std::string tests = text_of_all_tests();
  const std::string document = schema_document();
  const std::regex line(R"re(\n\| ([A-Z]+)-([0-9]+) \|)re");
  int invariants = 0;
  for (std::sregex_iterator hit(document.begin(), document.end(), line), none; hit != none; ++hit) {
    ++invariants;
    const std::string name = (*hit)[1].str() + (*hit)[2].str();
    EXPECT_NE(tests.find("_" + name + ")"), std::string::npos) << "no test is named …_" << name;
  }
  EXPECT_GE(invariants, 29);
}

}  // namespace
}  // namespace endgate::test
