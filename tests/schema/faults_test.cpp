// What if the disk says no at the n-th write or sync?  The record is whole or absent.

#include <gtest/gtest.h>

#include "schema/store.h"
#include "schema/verify.h"
#include "tests/support/shim_vfs.h"
#include "tests/support/store_helpers.h"
#include "tests/support/temporary_folder.h"

namespace endgate::schema {
namespace {

using test::fault_of;
using test::made_record;
using test::made_start;
using test::ShimVfs;

struct Outcome {
  bool failed = false;        // the shim has said no
  bool acknowledged = false;  // append returned
};

// Appends one test whose n-th `what` fails; then the disk heals and the store is opened again.
Outcome append_with_fault(const std::filesystem::path& folder, ShimVfs& shim, ShimVfs::What what,
                          int n, int code) {
  Outcome outcome;
  StoreWriter writer(folder);
  const TestStart start = made_start("QH1");
  const Position started = writer.append(start);
  shim.fail_at(what, n, code);
  const auto fault =
      fault_of([&] { writer.append(made_record(started, start), test::made_trace(2, 3, 8, 1)); });
  outcome.failed = shim.has_failed();
  outcome.acknowledged = !fault;
  if (fault) {
    EXPECT_EQ(*fault, code == SQLITE_FULL ? StoreFault::Kind::full : StoreFault::Kind::io);
  }
  return outcome;  // the writer closes while the disk still fails
}

void expect_whole_or_absent(const std::filesystem::path& folder, bool acknowledged) {
  StoreWriter again(folder);
  StoreReader reader(folder);
  const auto records = reader.records_of("QH1");
  if (acknowledged) {
    ASSERT_EQ(records.size(), 1U);
  }
  for (const StoredRecord& record : records) EXPECT_TRUE(reader.trace_of(record));  // S-4
  EXPECT_EQ(reader.starts_without_record().size(), 1 - records.size());
  const VerifyResult result = verify(folder, true);
  EXPECT_FALSE(result.first_bad) << result.what;
  EXPECT_EQ(result.facts, static_cast<std::int64_t>(2 + records.size()));
}

void fail_each(ShimVfs::What what, int code) {
  int n = 1;
  for (bool failed = true; failed; ++n) {
    SCOPED_TRACE("operation " + std::to_string(n));
    test::TemporaryFolder folder;
    ShimVfs shim;
    const Outcome outcome = append_with_fault(folder, shim, what, n, code);
    failed = outcome.failed;
    EXPECT_EQ(outcome.acknowledged, !failed);  // no failed write is ever silent
    shim.heal();
    expect_whole_or_absent(folder, outcome.acknowledged);
  }
  EXPECT_GT(n, 2);
}

TEST(Faults, LeaveARecordWholeOrAbsentWhenAnyWriteFails_S1) {
  fail_each(ShimVfs::What::write, SQLITE_IOERR_WRITE);
}

TEST(Faults, LeaveARecordWholeOrAbsentWhenTheDiskIsFullAtAnyWrite_S1) {
  fail_each(ShimVfs::What::write, SQLITE_FULL);
}

TEST(Faults, LeaveARecordWholeOrAbsentWhenAnySyncFails_S1) {
  fail_each(ShimVfs::What::sync, SQLITE_IOERR_FSYNC);
}

TEST(Faults, OfTheDiskStopTheWriterUntilItIsOpenedAgain) {
  test::TemporaryFolder folder;
  ShimVfs shim;
  {
    StoreWriter writer(folder);
    shim.fail_at(ShimVfs::What::sync, 1, SQLITE_IOERR_FSYNC);
    EXPECT_EQ(fault_of([&] { writer.append(Repair{.serial = "QH1"}); }), StoreFault::Kind::io);
    shim.heal();
    EXPECT_EQ(fault_of([&] { writer.append(Repair{.serial = "QH1"}); }), StoreFault::Kind::io);
  }
  StoreWriter again(folder);
  EXPECT_FALSE(fault_of([&] { again.append(Repair{.serial = "QH1"}); }));
}

TEST(Faults, OfAFullDiskPassWhenThereIsSpaceAgain) {
  test::TemporaryFolder folder;
  ShimVfs shim;
  StoreWriter writer(folder);
  shim.fail_at(ShimVfs::What::write, 1, SQLITE_FULL);
  EXPECT_EQ(fault_of([&] { writer.append(Repair{.serial = "QH1"}); }), StoreFault::Kind::full);
  shim.heal();
  EXPECT_FALSE(fault_of([&] { writer.append(Repair{.serial = "QH1"}); }));
  EXPECT_FALSE(verify(folder, false).first_bad);
}

TEST(Faults, OfACheckpointAreReportedAndLoseNothing) {
  test::TemporaryFolder folder;
  ShimVfs shim;
  {
    StoreWriter writer(folder);
    for (int i = 0; i < 45; ++i) test::append_test(writer, "QH" + std::to_string(i));
    shim.fail_at(ShimVfs::What::sync, 1, SQLITE_IOERR_FSYNC);
    EXPECT_EQ(fault_of([&] { writer.checkpoint_when_due(); }), StoreFault::Kind::io);
  }
  shim.heal();
  StoreWriter again(folder);
  EXPECT_EQ(StoreReader(folder).record_count(), 45);
  EXPECT_FALSE(verify(folder, false).first_bad);
}

}  // namespace
}  // namespace endgate::schema
