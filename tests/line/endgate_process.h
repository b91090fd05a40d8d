// The real program as a child process.

#pragma once

#include <signal.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <chrono>
#include <filesystem>
#include <string>
#include <thread>

#include "tests/line/line_plant.h"

namespace endgate::test {

class EndgateProcess {
 public:
  enum class Threads { as_here, none };
  EndgateProcess(const fs::path& config, const fs::path& log, Threads threads = Threads::as_here) {
    fs::remove(log);  // the address an earlier process printed is not this one's
    pid_ = fork();
    if (pid_ != 0) return;
    (void)!freopen(log.c_str(), "w", stdout);
    (void)!freopen("/dev/null", "w", stderr);
    if (threads == Threads::none) allow_no_thread();
    execl(ENDGATE_PROGRAM, ENDGATE_PROGRAM, "run", "--config", config.c_str(), nullptr);
    _exit(127);
  }
  ~EndgateProcess() { end(SIGKILL); }
  EndgateProcess(const EndgateProcess&) = delete;
  EndgateProcess& operator=(const EndgateProcess&) = delete;

  // The exit status, or -1 when a signal ended it.  Signal 0 waits until it ends by itself.
  int end(int signal) {
    if (pid_ <= 0) return -1;
    kill(pid_, signal);
    int status = 0;
    waitpid(pid_, &status, 0);
    pid_ = 0;
    return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
  }

 private:
  // Each would be given a stack that no machine has.
  static void allow_no_thread() {
    rlimit stack{};
    getrlimit(RLIMIT_STACK, &stack);
    stack.rlim_cur = rlim_t{1} << 45U;
    setrlimit(RLIMIT_STACK, &stack);
  }

  pid_t pid_ = 0;
};

inline std::uint16_t free_port() {
  boost::asio::io_context io;
  boost::asio::ip::tcp::acceptor acceptor(io, {boost::asio::ip::address_v4::loopback(), 0});
  return acceptor.local_endpoint().port();
}

// The program prints its address when it serves.
inline bool serves(const fs::path& log) {
  for (int tries = 0; tries < 600; ++tries) {
    if (text_in(log).find("http://") != std::string::npos) return true;
    std::this_thread::sleep_for(10ms);
  }
  return false;
}

}  // namespace endgate::test
