// A question that takes too long ends; one that is quick is answered.

#include "schema/deadline.h"

#include <gtest/gtest.h>

#include "schema/every_entry.h"
#include "schema/trend_file.h"
#include "tests/support/store_helpers.h"
#include "tests/support/temporary_folder.h"

namespace endgate::schema {
namespace {

using test::fault_of;

class Deadlines : public ::testing::Test {
 protected:
  Deadlines() {
    StoreWriter writer(folder.path());
    for (int i = 0; i < 150; ++i) {
      TestStart start = test::made_start("QH" + std::to_string(i));
      start.batch = "B" + std::to_string(i);
      const Position position = writer.append(start);
      writer.append(test::made_record(position, start), std::nullopt);
    }
  }
  [[nodiscard]] StoreReader late_reader() const {
    return StoreReader(folder.path(), std::chrono::steady_clock::now());
  }
  static void read_all(const StoreReader& reader) {
    reader.for_each_record([](const StoredRecord&) { return true; });
  }

  test::TemporaryFolder folder;
};

TEST_F(Deadlines, EndALongQuestionBeforeItIsThrough) {
  const StoreReader reader = late_reader();
  int seen = 0;
  EXPECT_EQ(fault_of([&] { reader.for_each_record([&](const StoredRecord&) { return ++seen; }); }),
            StoreFault::Kind::out_of_time);
  EXPECT_LT(seen, 150);
  EXPECT_EQ(fault_of([&] { reader.hold_to_deadline(); }), StoreFault::Kind::out_of_time);
}

TEST_F(Deadlines, SayWhatToAskInstead) {
  try {
    read_all(late_reader());
    FAIL();
  } catch (const StoreFault& fault) {
    EXPECT_NE(std::string(fault.what()).find("ask about fewer tests"), std::string::npos);
  }
}

TEST_F(Deadlines, AreOfTheirReaderAlone) {
  const StoreReader late = late_reader();
  EXPECT_TRUE(fault_of([&] { read_all(late); }));
  const StoreReader other(folder.path());
  EXPECT_FALSE(fault_of([&] { read_all(other); }));
  EXPECT_NO_THROW(other.hold_to_deadline());
  EXPECT_EQ(late.last_attempt("QH7"), 1) << "what is quick is answered, also afterwards";
}

TEST_F(Deadlines, HoldForAllEntriesOfAKind) {
  {
    StoreWriter writer(folder.path());
    for (int i = 0; i < 500; ++i)
      writer.append(Repair{.serial = "QH" + std::to_string(i), .finding = "worn", .by = "Ada"});
  }
  EXPECT_EQ(every_repair(StoreReader(folder.path())).size(), 500U);
  EXPECT_EQ(fault_of([&] { static_cast<void>(every_repair(late_reader())); }),
            StoreFault::Kind::out_of_time);
}

TEST_F(Deadlines, HoldForTheFileOfTrendsToo) {
  {
    const StoreReader truth(folder.path());
    TrendWriter(folder.path()).catch_up(truth, 1000);
  }
  const auto batches = [&](Deadline deadline) {
    const StoreReader truth(folder.path(), deadline);
    return TrendReader::open(truth)
        ->rollups("P1-60-12", "fad_400", "production", RollupSpan::batch, 1000)
        .size();
  };
  EXPECT_EQ(batches(kNoDeadline), 150U);
  EXPECT_EQ(fault_of([&] { static_cast<void>(batches(std::chrono::steady_clock::now())); }),
            StoreFault::Kind::out_of_time);
}

}  // namespace
}  // namespace endgate::schema
