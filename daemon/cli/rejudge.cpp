// `endgate rejudge`: kept tests judged by this program, beside what was kept of them.

#include <csignal>
#include <ctime>
#include <fstream>
#include <iostream>
#include <iterator>
#include <map>
#include <memory>
#include <optional>

#include "daemon/cli/aside_file.h"
#include "daemon/cli/asked_tests.h"
#include "daemon/cli/commands.h"
#include "daemon/cli/exit_status.h"
#include "daemon/cli/store_place.h"
#include "daemon/cli/tell_moves.h"
#include "daemon/definitions/load.h"
#include "daemon/exchange/judgement_lines.h"
#include "daemon/line/version.h"
#include "schema/newest_records.h"

namespace endgate::daemon {
namespace {

constexpr std::size_t kTellJudged = 100;  // a test takes tens of milliseconds
constexpr std::size_t kMostAtOnce = 1000;

LimitFacts draft_in(const std::filesystem::path& path) {
  std::ifstream in(path, std::ios::binary);
  if (!in) throw ConfigurationFault(path.string() + ": expected a readable file");
  const std::string text(std::istreambuf_iterator<char>(in), {});
  Loaded<LimitFacts> loaded = load_limits(text, path.string());
  if (const auto* errors = std::get_if<std::vector<DefinitionError>>(&loaded)) {
    std::string all;
    for (const DefinitionError& error : *errors) all += (all.empty() ? "" : "\n") + error.text();
    throw ConfigurationFault(all);
  }
  auto& facts = std::get<LimitFacts>(loaded);
  facts.limits.id = facts.model + " (draft " + path.filename().string() + ")";
  return std::move(facts);
}

// Which tests, and against what.
struct RejudgeAsked {
  std::string model;
  std::optional<analysis::LimitSet> draft;
};

RejudgeAsked asked_by(const RejudgeCommand& command) {
  if (command.limits.empty()) return {.model = command.model, .draft = {}};
  LimitFacts facts = draft_in(command.limits);
  if (!command.model.empty() && command.model != facts.model)
    throw ConfigurationFault(command.limits.string() + ": these limits are of model " +
                             facts.model + ", not of " + command.model);
  return {.model = facts.model, .draft = std::move(facts.limits)};
}

// Where the lines go: nowhere, into a file that is whole at the end, or, while following, into one
// that grows line by line.
class JudgementFile {
 public:
  JudgementFile(const std::filesystem::path& path, bool growing) {
    if (path.empty()) return;
    if (!growing) {
      whole_ = std::make_unique<AsideFile>(path);
      return;
    }
    growing_.open(path, std::ios::binary | std::ios::trunc);
    if (!growing_) throw ConfigurationFault(path.string() + ": expected a folder to write into");
  }

  void write(const std::string& line) {
    if (whole_) whole_->stream() << line << "\n";
    if (!growing_.is_open()) return;
    growing_ << line << std::endl;
    if (!growing_)
      throw schema::StoreFault(schema::StoreFault::Kind::io,
                               "the file of judgements takes no more lines; is the disk full?");
  }
  void finish() {
    if (whole_) whole_->finish();
  }

 private:
  std::unique_ptr<AsideFile> whole_;
  std::ofstream growing_;
};

class Rejudging {
 public:
  Rejudging(const RejudgeCommand& command, RejudgeAsked asked)
      : command_(command),
        asked_(std::move(asked)),
        store_(store_folder(command.store)),
        file_(command.out, command.follow) {
    const std::string limits = asked_.draft ? asked_.draft->id : kLimitsOfThen;
    file_.write(line_of(JudgedBy{software_version(), store_.store_id(), limits}));
  }

  [[nodiscard]] bool can_be_asked() const {
    return asked_.model.empty() ||
           filter_asked(store_, {.model = asked_.model, .purpose = kAllPurposes}).has_value();
  }

  // False: there is none.
  bool judge_newest() {
    const auto positions = schema::newest_records(store_, command_.last, asked_.model);
    judge(positions);
    return !positions.empty();
  }

  void judge_new() { judge(schema::newest_records(store_, kMostAtOnce, asked_.model, last_)); }

  int tell_and_finish() {
    file_.finish();
    tell_not_judged();
    tell_moves(moves_, {"kept", "now"}, std::cout);
    return moves_.any() || not_judged_.contains(NotJudged::unreadable) ? kNegative : kOk;
  }

 private:
  void judge(const std::vector<schema::Position>& positions) {
    std::size_t done = 0;
    for (const schema::Position position : positions) {
      take(rejudged(store_, position, asked_.draft ? &*asked_.draft : nullptr));
      last_ = position;
      if (++done % kTellJudged == 0)
        std::cerr << done << " of " << positions.size() << " tests judged again\n";
    }
  }

  void take(const JudgedTest& test) {
    file_.write(line_of(test));
    if (!test.now) {
      ++not_judged_[test.not_judged];
      if (!test.trouble.empty()) std::cout << name_of(test) << ": " << test.trouble << std::endl;
      return;
    }
    if (moves_.add(name_of(test), test.kept, *test.now).verdict)
      std::cout << verdict_move_words(name_of(test), test.kept, *test.now) << std::endl;
  }

  void tell_not_judged() const {
    static const std::map<NotJudged, const char*> kWords{
        {NotJudged::samples_gone, "their samples were removed by a stated policy"},
        {NotJudged::never_judged, "they were broken off and never judged"},
        {NotJudged::no_such_limits, "lab trials have limits of their own"},
        {NotJudged::unreadable, "their samples or context cannot be read, as said above"}};
    for (const auto& [why, count] : not_judged_)
      std::cout << "not judged again: " << count << ", " << kWords.at(why) << "\n";
  }

  const RejudgeCommand& command_;
  RejudgeAsked asked_;
  schema::StoreReader store_;
  JudgementFile file_;
  Moves moves_;
  std::map<NotJudged, std::int64_t> not_judged_;
  schema::Position last_ = 0;
};

// Until somebody stops the command; the signal is waited for, so it also ends the pause.
void follow(Rejudging& rejudging) {
  constexpr timespec kPause{.tv_sec = 1, .tv_nsec = 0};
  sigset_t stop, before;
  sigemptyset(&stop);
  sigaddset(&stop, SIGINT);
  sigaddset(&stop, SIGTERM);
  pthread_sigmask(SIG_BLOCK, &stop, &before);
  std::cerr << "following the store; Ctrl-C ends it and tells what moved\n";
  while (sigtimedwait(&stop, nullptr, &kPause) < 0) rejudging.judge_new();
  pthread_sigmask(SIG_SETMASK, &before, nullptr);
}

}  // namespace

int run_command(const RejudgeCommand& command) {
  Rejudging rejudging(command, asked_by(command));
  if (!rejudging.can_be_asked()) return kUsage;
  const bool any = rejudging.judge_newest();
  if (command.follow) {
    follow(rejudging);
  } else if (!any) {
    std::cerr << "No test is kept here.\n";
    return kNegative;
  }
  return rejudging.tell_and_finish();
}

}  // namespace endgate::daemon
