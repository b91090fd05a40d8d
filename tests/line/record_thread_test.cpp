// Who gets a place in the queue of the one thread that writes?

#include "daemon/line/record_thread.h"

#include <gtest/gtest.h>

#include <future>

#include "tests/support/temporary_folder.h"

namespace endgate::test {
namespace {

using daemon::RecordThread;

TEST(RecordThread, KeepsPlacesForResultsThatEntriesCannotTake) {
  const TemporaryFolder folder;
  RecordThread thread(folder.path());
  std::promise<void> disk_answers;
  const std::shared_future<void> answers = disk_answers.get_future().share();
  std::promise<void> stalled;
  ASSERT_TRUE(thread.post([&](schema::StoreWriter&) {
    stalled.set_value();
    answers.wait();
  }));
  stalled.get_future().wait();
  int entries = 0;
  while (thread.post([](schema::StoreWriter&) {})) ++entries;
  EXPECT_GT(entries, 10);
  bool kept = false;
  EXPECT_TRUE(
      thread.post([&](schema::StoreWriter&) { kept = true; }, RecordThread::Carries::result));
  EXPECT_FALSE(thread.post([](schema::StoreWriter&) {}));
  disk_answers.set_value();
  thread.finish();
  EXPECT_TRUE(kept);
}

}  // namespace
}  // namespace endgate::test
