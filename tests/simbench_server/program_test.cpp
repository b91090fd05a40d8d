// The program `simbench` as people and scripts start it.

#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <csignal>
#include <sstream>

#include "tests/simbench_server/loopback_bench.h"

namespace simbench {
namespace {

using testing::HasSubstr;
using testing::SizeIs;

// A child with its standard output and error on one pipe.
class Program {
 public:
  explicit Program(std::vector<std::string> arguments) {
    arguments.insert(arguments.begin(), SIMBENCH_PROGRAM);
    std::array<int, 2> ends{};
    EXPECT_EQ(pipe(ends.data()), 0);
    pid_ = fork();
    if (pid_ == 0) become(arguments, ends);
    close(ends[1]);
    out_ = ends[0];
  }
  ~Program() {
    if (pid_ > 0) (void)end();
    close(out_);
  }
  Program(const Program&) = delete;
  Program& operator=(const Program&) = delete;

  [[nodiscard]] std::string line() {
    std::string text;
    for (char c = 0; read(out_, &c, 1) == 1 && c != '\n';) text += c;
    return text;
  }
  // Its exit status; -1 when a signal ended it.
  [[nodiscard]] int wait() {
    int status = 0;
    waitpid(pid_, &status, 0);
    pid_ = 0;
    return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
  }
  [[nodiscard]] int end() {
    kill(pid_, SIGTERM);
    return wait();
  }

 private:
  [[noreturn]] static void become(std::vector<std::string>& arguments, std::array<int, 2> ends) {
    dup2(ends[1], STDOUT_FILENO);
    dup2(ends[1], STDERR_FILENO);
    close(ends[0]);
    std::vector<char*> pointers;
    for (std::string& argument : arguments) pointers.push_back(argument.data());
    pointers.push_back(nullptr);
    execv(pointers[0], pointers.data());
    _exit(127);
  }

  pid_t pid_ = 0;
  int out_ = -1;
};

TEST(Simbench, SaysReadyWithItsPortsServesAndEndsCleanlyOnSigterm) {
  Program program({"--port", "0", "--control", "0"});
  std::istringstream ready(program.line());
  std::string word;
  std::uint16_t port = 0, control = 0;
  ready >> word >> port >> control;
  ASSERT_EQ(word, "ready");
  {
    Libmodbus client(port);
    EXPECT_THAT(client.input(0, 18), SizeIs(18));
    RawLink hand(control);
    EXPECT_EQ(hand.ask("clamp " + make_serial("2648", 117)), "ok");
  }
  EXPECT_EQ(program.end(), 0);
}

TEST(Simbench, RefusesARateThatLeavesNo50SamplesPerBenchSecond) {
  Program program({"--port", "0", "--control", "0", "--rate", "20.5"});
  EXPECT_THAT(program.line(), HasSubstr("--rate 20.5 refused"));
  EXPECT_EQ(program.line(), "");
  EXPECT_EQ(program.wait(), 2);
}

TEST(Simbench, RefusesAWrongOptionInOneLine) {
  Program program({"--pace", "3"});
  EXPECT_THAT(program.line(), HasSubstr("unknown option --pace"));
  EXPECT_EQ(program.wait(), 2);
}

TEST(Simbench, SaysWhenItsPortIsTaken) {
  const ServedBench other;
  Program program({"--port", std::to_string(other.port()), "--control", "0"});
  EXPECT_THAT(program.line(), HasSubstr("Address already in use"));
  EXPECT_EQ(program.wait(), 4);
}

TEST(Simbench, StartsItsCounterWhereItIsTold) {
  Program program({"--port", "0", "--control", "0", "--counter-start", "4000000000"});
  std::istringstream ready(program.line());
  std::string word;
  std::uint16_t port = 0;
  ready >> word >> port;
  Libmodbus client(port);
  EXPECT_EQ(client.input(0, 2).at(0), 4000000000U >> 16U);
}

}  // namespace
}  // namespace simbench
