#include "schema/owner_lock.h"

#include <fcntl.h>
#include <gtest/gtest.h>
#include <signal.h>
#include <sys/file.h>
#include <sys/syscall.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <thread>

#include "schema/store_fault.h"
#include "tests/support/temporary_folder.h"

namespace endgate::test {
namespace {

using schema::has_living_owner;
using schema::OwnerLock;

std::string text_of_file(const std::filesystem::path& path) {
  std::ifstream in(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), {}};
}

TEST(OwnerLock, NobodyOwnsAFolderWithoutAStore) {
  const TemporaryFolder folder;
  EXPECT_FALSE(has_living_owner(folder.path()));
  EXPECT_FALSE(has_living_owner(folder.path() / "not there"));
  EXPECT_TRUE(std::filesystem::is_empty(folder.path())) << "a look leaves nothing behind";
}

TEST(OwnerLock, AnOwnerLivesUntilItLetsGo) {
  const TemporaryFolder folder;
  {
    const OwnerLock owner(folder.path());
    const std::string pid = text_of_file(folder.path() / "owner.lock");
    EXPECT_TRUE(has_living_owner(folder.path()));
    EXPECT_EQ(text_of_file(folder.path() / "owner.lock"), pid);
  }
  EXPECT_FALSE(has_living_owner(folder.path()));
}

// A look at the lock holds it for a moment; a service that starts just then is not refused.
TEST(OwnerLock, IsTakenBesideSomebodyWhoOnlyLooks) {
  const TemporaryFolder folder;
  std::ofstream(folder.path() / "owner.lock") << "1\n";
  const int looking = open((folder.path() / "owner.lock").c_str(), O_RDONLY | O_CLOEXEC);
  ASSERT_EQ(flock(looking, LOCK_SH), 0);
  std::thread looker([looking] {
    std::this_thread::sleep_for(std::chrono::milliseconds(10));
    close(looking);
  });
  EXPECT_NO_THROW(OwnerLock(folder.path()));
  looker.join();
}

// In another PID namespace, say: nothing speaks for its death.
TEST(OwnerLock, AnOwnerWhoseProcessCannotBeFoundLives) {
  const TemporaryFolder folder;
  const OwnerLock owner(folder.path());
  std::ofstream(folder.path() / "owner.lock") << "no number\n";
  EXPECT_TRUE(has_living_owner(folder.path()));
}

// A killed process whose one thread hangs in a call to the disk: its leader has ended, its files
// are still open.
TEST(OwnerLock, AnOwnerThatIsDyingDoesNotLive) {
  const TemporaryFolder folder;
  const pid_t child = fork();
  if (child == 0) {
    static const OwnerLock owner(folder.path());
    std::thread([] { pause(); }).detach();
    syscall(SYS_exit, 0);  // of the leader alone, without unwinding
  }
  const auto is_owned = [&] {
    try {
      const OwnerLock free(folder.path());
      return false;
    } catch (const schema::StoreFault&) {
      return true;
    }
  };
  const auto wait_until = [](auto condition) {
    for (int tries = 0; tries < 500 && !condition(); ++tries)
      std::this_thread::sleep_for(std::chrono::milliseconds(10));
    return condition();
  };
  EXPECT_TRUE(wait_until(is_owned));
  EXPECT_TRUE(wait_until([&] { return !has_living_owner(folder.path()); }));
  EXPECT_TRUE(is_owned()) << "the lock is held all the same";
  kill(child, SIGKILL);
  waitpid(child, nullptr, 0);
}

}  // namespace
}  // namespace endgate::test
