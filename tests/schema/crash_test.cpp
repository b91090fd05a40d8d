// What does kill -9 leave behind?  A child process appends in a loop and is killed at random
// instants; what it had acknowledged is there and the store verifies clean.
//
// A kill does not prove durability against power loss (the kernel keeps what was written); that
// synchronous=FULL and the counted syncs are for.

#include <gtest/gtest.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <random>

#include "schema/store.h"
#include "schema/verify.h"
#include "tests/support/store_helpers.h"
#include "tests/support/temporary_folder.h"

namespace endgate::schema {
namespace {

// In the child: appends for ever, and tells the pipe each position that was acknowledged.
[[noreturn]] void append_for_ever(const std::filesystem::path& folder, int to, int round) {
  try {
    StoreWriter writer(folder);
    const Trace trace = test::made_trace(4, 10, 8, 1);
    for (int i = 0;; ++i) {
      const std::string serial = "QH" + std::to_string(round) + "-" + std::to_string(i);
      const Position position = test::append_test(writer, serial, 1, trace);
      if (write(to, &position, sizeof position) != sizeof position) _exit(2);
      writer.checkpoint_when_due();
    }
  } catch (...) {
    _exit(1);
  }
}

// Everything the child acknowledged, in order.  Every other round waits for the first
// acknowledgement, so that on a slow disk some kills hit the middle of the work.
std::vector<Position> run_and_kill(const std::filesystem::path& folder, int round,
                                   std::chrono::microseconds after) {
  int ends[2];
  EXPECT_EQ(pipe(ends), 0);
  const pid_t child = fork();
  if (child == 0) {
    close(ends[0]);
    append_for_ever(folder, ends[1], round);
  }
  close(ends[1]);
  std::vector<Position> acknowledged;
  Position position = 0;
  if (round % 2 == 1 && read(ends[0], &position, sizeof position) == sizeof position)
    acknowledged.push_back(position);
  usleep(static_cast<useconds_t>(after.count()));
  kill(child, SIGKILL);
  while (read(ends[0], &position, sizeof position) == sizeof position)
    acknowledged.push_back(position);
  close(ends[0]);
  int status = 0;
  waitpid(child, &status, 0);
  EXPECT_TRUE(WIFSIGNALED(status)) << "the child ended by itself, status " << status;
  return acknowledged;
}

TEST(Crash, LosesNoAcknowledgedRecordAndLeavesNoneInHalf_S1_S4) {
  test::TemporaryFolder folder;
  std::mt19937 random(20261118);
  std::size_t all = 0;
  for (int round = 0; round < 40; ++round) {
    const std::chrono::microseconds after(2'000 + random() % 150'000);
    for (const Position position : run_and_kill(folder, round, after)) {
      ++all;
      const StoreReader reader(folder);
      const auto record = reader.record_at(position);
      ASSERT_TRUE(record) << "round " << round << " lost acknowledged position " << position;
      ASSERT_TRUE(reader.trace_of(*record));
    }
    if (!std::filesystem::exists(folder.path() / "records.db")) continue;
    { StoreWriter opens_again(folder); }
    if (round % 8 != 7) continue;
    const VerifyResult result = verify(folder, true);
    ASSERT_FALSE(result.first_bad) << "round " << round << ": " << result.what;
  }
  EXPECT_GT(all, 0U);
  std::printf("acknowledged records over 40 kills: %zu\n", all);
}

TEST(Crash, ShowsTheTestThatWasRunningAsAStartWithoutRecord) {
  test::TemporaryFolder folder;
  const pid_t child = fork();
  if (child == 0) {
    StoreWriter writer(folder);
    writer.append(test::made_start("QH1"));
    kill(getpid(), SIGKILL);
  }
  waitpid(child, nullptr, 0);
  StoreWriter writer(folder);  // the lock went with the process
  const auto open = StoreReader(folder).starts_without_record();
  ASSERT_EQ(open.size(), 1U);
  EXPECT_EQ(open[0].start.serial, "QH1");
}

}  // namespace
}  // namespace endgate::schema
