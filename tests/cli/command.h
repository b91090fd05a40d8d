// One command as a user gives it: what it printed, and how it ended.

#pragma once

#include <gtest/gtest.h>

#include <filesystem>
#include <fstream>
#include <iostream>
#include <sstream>
#include <string>
#include <vector>

#include "daemon/cli/command_line.h"
#include "tests/support/temporary_folder.h"

namespace endgate::test {

struct Ended {
  int status = -1;
  std::string out, err;
};

// Standard streams are what the commands write to, so they are put aside meanwhile.
class CapturedStream {
 public:
  explicit CapturedStream(std::ostream& stream)
      : stream_(stream), before_(stream.rdbuf(text_.rdbuf())) {}
  ~CapturedStream() { stream_.rdbuf(before_); }
  CapturedStream(const CapturedStream&) = delete;
  CapturedStream& operator=(const CapturedStream&) = delete;
  [[nodiscard]] std::string text() const { return text_.str(); }

 private:
  std::ostringstream text_;
  std::ostream& stream_;
  std::streambuf* before_;
};

inline Ended endgate(std::vector<std::string> words) {
  words.insert(words.begin(), "endgate");
  std::vector<char*> arguments;
  for (std::string& word : words) arguments.push_back(word.data());
  const CapturedStream out(std::cout);
  const CapturedStream err(std::cerr);
  const int status = daemon::run_command_line(static_cast<int>(arguments.size()), arguments.data());
  return {status, out.text(), err.text()};
}

// A copy of the scenario's definition files, free to be spoilt.
class ScenarioCopy {
 public:
  ScenarioCopy() {
    namespace fs = std::filesystem;
    fs::copy(fs::path(ENDGATE_SOURCE_DIR) / "fixtures" / "scenario", folder_.path(),
             fs::copy_options::recursive | fs::copy_options::overwrite_existing);
  }
  [[nodiscard]] std::string path(const std::string& file = "") const {
    return (folder_.path() / file).string();
  }
  void replace(const std::string& file, const std::string& from, const std::string& to) const {
    std::string text = read(file);
    const std::size_t at = text.find(from);
    ASSERT_NE(at, std::string::npos) << from;
    std::ofstream(path(file)) << text.replace(at, from.size(), to);
  }
  [[nodiscard]] std::string read(const std::string& file) const {
    std::ifstream in(path(file));
    return {std::istreambuf_iterator<char>(in), {}};
  }

 private:
  TemporaryFolder folder_;
};

}  // namespace endgate::test
