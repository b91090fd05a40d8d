// `endgate moved BEFORE AFTER`: two files that `rejudge` wrote, held against each other.

#include <fstream>
#include <iostream>
#include <optional>

#include "daemon/cli/commands.h"
#include "daemon/cli/exit_status.h"
#include "daemon/cli/store_place.h"
#include "daemon/cli/tell_moves.h"
#include "daemon/exchange/judgement_lines.h"

namespace endgate::daemon {
namespace {

// One test at a time, so that files of any length are compared.
class JudgementReader {
 public:
  explicit JudgementReader(const std::filesystem::path& path)
      : name_(path.string()), in_(path, std::ios::binary) {
    if (!in_) throw ConfigurationFault(name_ + ": expected a readable file");
    const auto text = next_line();
    const auto by = text ? judged_by_in(*text) : std::nullopt;
    if (!by) wrong("expected the first line of a file that endgate rejudge --out wrote");
    by_ = *by;
  }

  [[nodiscard]] const JudgedBy& by() const { return by_; }
  [[nodiscard]] const std::optional<JudgedTest>& test() const { return test_; }
  void next() {
    const schema::Position before = test_ ? test_->position : 0;
    const auto text = next_line();
    test_ = text ? judged_test_in(*text) : std::nullopt;
    if (text && !test_) wrong("expected a judgement as endgate rejudge writes it");
    if (test_ && test_->position <= before) wrong("expected a later test than the line before");
  }

 private:
  std::optional<std::string> next_line() {
    std::string text;
    ++line_;
    return std::getline(in_, text) ? std::optional(text) : std::nullopt;
  }
  [[noreturn]] void wrong(const std::string& what) const {
    throw ConfigurationFault(name_ + ":" + std::to_string(line_) + ": " + what);
  }

  std::string name_;
  std::ifstream in_;
  std::int64_t line_ = 0;
  JudgedBy by_;
  std::optional<JudgedTest> test_;
};

struct Compared {
  Moves moves;
  std::int64_t only_before = 0, only_after = 0;  // tests of one file alone
  std::int64_t not_judged = 0;                   // in one of them at least
};

void compare(const JudgedTest& before, const JudgedTest& after, Compared& into) {
  if (!before.now || !after.now) {
    ++into.not_judged;
    return;
  }
  if (into.moves.add(name_of(after), *before.now, *after.now).verdict)
    std::cout << verdict_move_words(name_of(after), *before.now, *after.now) << "\n";
}

Compared compared(JudgementReader& before, JudgementReader& after) {
  Compared all;
  before.next();
  after.next();
  while (before.test() && after.test()) {
    const schema::Position one = before.test()->position, other = after.test()->position;
    if (one == other) compare(*before.test(), *after.test(), all);
    if (one < other) ++all.only_before;
    if (other < one) ++all.only_after;
    if (one <= other) before.next();
    if (other <= one) after.next();
  }
  for (; before.test(); before.next()) ++all.only_before;
  for (; after.test(); after.next()) ++all.only_after;
  return all;
}

void tell_left_out(const Compared& all) {
  const auto tell = [](std::int64_t count, const char* why) {
    if (count > 0) std::cout << "not compared: " << count << ", " << why << "\n";
  };
  tell(all.only_before, "only in the first file");
  tell(all.only_after, "only in the second file");
  tell(all.not_judged, "not judged again in one of the files");
}

}  // namespace

int run_command(const MovedCommand& command) {
  JudgementReader before(command.before), after(command.after);
  if (before.by().store != after.by().store) {
    std::cerr << "The two files are of different stores; have both programs judge the same one.\n";
    return kUsage;
  }
  std::cout << "before: " << before.by().program << ", limits " << before.by().limits << "\n"
            << "after: " << after.by().program << ", limits " << after.by().limits << "\n";
  const Compared all = compared(before, after);
  tell_left_out(all);
  tell_moves(all.moves, {"before", "after"}, std::cout);
  if (all.moves.tests() == 0) std::cerr << "The two files have no judged test in common.\n";
  return all.moves.any() || all.moves.tests() == 0 ? kNegative : kOk;
}

}  // namespace endgate::daemon
