// Does the derived file follow truth by itself, and come back when somebody spoils it?

#include "daemon/line/derived_thread.h"

#include <gtest/gtest.h>

#include <fstream>

#include "tests/support/made_facts.h"
#include "tests/support/temporary_folder.h"

namespace endgate::daemon {
namespace {

using namespace std::chrono_literals;

void keep(schema::StoreWriter& writer, const std::string& serial) {
  schema::Record record;
  record.start = test::made_start(serial, 1);
  record.start_position = writer.append(record.start);
  record.verdict = "pass";
  record.metrics = {test::made_metric("fad_400", 8e-4)};
  writer.append(record, std::nullopt);
}

// Waits long, for a busy machine; a test that passes does not.
bool caught_up(const std::filesystem::path& folder) {
  const schema::StoreReader truth(folder);
  for (int i = 0; i < 1000; ++i) {
    const auto derived = schema::TrendReader::open(truth);
    if (derived && derived->position() == truth.last_position()) return true;
    std::this_thread::sleep_for(20ms);
  }
  return false;
}

TEST(DerivedThread, TakesOverWhatIsThereAndWhatComesLater) {
  const test::TemporaryFolder folder;
  schema::StoreWriter writer(folder.path());
  keep(writer, "QH1");
  const DerivedThread derived(folder.path(), 10ms);
  EXPECT_TRUE(caught_up(folder.path()));
  keep(writer, "QH2");
  EXPECT_TRUE(caught_up(folder.path()));
  EXPECT_EQ(derived.state().fault, "");
}

TEST(DerivedThread, ReplacesAFileThatIsNone) {
  const test::TemporaryFolder folder;
  schema::StoreWriter writer(folder.path());
  keep(writer, "QH1");
  std::ofstream(folder.path() / schema::kTrendFileName) << std::string(5000, 'x');
  const DerivedThread derived(folder.path(), 10ms);
  EXPECT_TRUE(caught_up(folder.path()));
}

}  // namespace
}  // namespace endgate::daemon
