// A head that somebody keeps elsewhere: does the store still contain that past?

#include "schema/witness.h"

#include <gtest/gtest.h>

#include "schema/backup.h"
#include "tests/support/store_helpers.h"
#include "tests/support/temporary_folder.h"

namespace endgate::schema {
namespace {

class Witness : public ::testing::Test {
 protected:
  void keep(const std::string& serial) const {
    StoreWriter writer(folder.path());
    test::append_test(writer, serial);
  }
  [[nodiscard]] std::string line_now() const {
    StoreWriter(folder.path()).sign_head();
    return line_of(newest_witnessed(StoreReader(folder.path())));
  }
  [[nodiscard]] static WitnessSays says(const std::filesystem::path& store,
                                        const std::string& line) {
    return hold_against(StoreReader(store), *read_witnessed(line));
  }

  test::TemporaryFolder folder;
};

TEST_F(Witness, FindsItsPastInTheStoreOfALaterDay) {
  keep("QH1");
  const std::string line = line_now();
  EXPECT_EQ(says(folder.path(), line), WitnessSays::contained);
  keep("QH2");
  EXPECT_EQ(says(folder.path(), line), WitnessSays::contained);
  EXPECT_EQ(says(folder.path(), "  " + line + "\n"), WitnessSays::contained);
}

TEST_F(Witness, FindsItsPastInARestoredCopyToo) {
  keep("QH1");
  const std::string line = line_now();
  const test::TemporaryFolder other;
  back_up(folder.path(), other.path() / "copy");
  restore(other.path() / "copy", other.path() / "again");
  EXPECT_EQ(says(other.path() / "again", line), WitnessSays::contained);
  EXPECT_EQ(says(other.path() / "copy", line), WitnessSays::contained);
}

TEST_F(Witness, MissesAPastThatWasWrittenAnew) {
  keep("QH1");
  const std::string line = line_now();
  const test::TemporaryFolder forged;
  {
    StoreWriter writer(forged.path());
    for (int i = 0; i < 5; ++i) test::append_test(writer, "QH9" + std::to_string(i));
  }
  EXPECT_EQ(says(forged.path(), line), WitnessSays::other_past);
}

TEST_F(Witness, MissesWhatWasCutOff) {
  keep("QH1");
  const test::TemporaryFolder other;
  back_up(folder.path(), other.path() / "before");
  keep("QH2");
  EXPECT_EQ(says(other.path() / "before", line_now()), WitnessSays::shorter);
}

TEST_F(Witness, KnowsALineThatWasChanged) {
  keep("QH1");
  const std::string line = line_now();
  for (std::size_t word = 0, at = 0; word < 6; ++word) {
    at = line.find(' ', at) + 1;
    if (word == 0) continue;  // the format
    std::string changed = line;
    changed[at] = changed[at] == '1' ? '2' : '1';
    if (changed == line) continue;
    EXPECT_EQ(says(folder.path(), changed), WitnessSays::not_signed) << changed;
  }
}

TEST_F(Witness, NothingElseIsALine) {
  keep("QH1");
  const std::string line = line_now();
  for (const std::string& wrong :
       {std::string(), std::string("hello"), line + " 1", line.substr(0, line.size() - 1),
        "x" + line, "endgate-head 2" + line.substr(14)})
    EXPECT_FALSE(read_witnessed(wrong)) << wrong;
}

}  // namespace
}  // namespace endgate::schema
