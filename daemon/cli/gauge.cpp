// `endgate gauge METRIC --model MODEL`

#include <iostream>

#include "daemon/cli/commands.h"
#include "daemon/cli/exit_status.h"
#include "daemon/cli/store_place.h"
#include "daemon/queries/gauge_words.h"
#include "daemon/views/tests_known.h"

namespace endgate::daemon {
namespace {

template <class Told>
int tell_study(const Told& told) {
  for (const std::string& line : words_of(told)) std::cout << line << "\n";
  return told.study ? kOk : kNegative;
}

}  // namespace

int run_command(const GaugeCommand& command) {
  const schema::StoreReader store(store_folder(command.store));
  const auto read = read_study(command.question, known_in(store));
  if (const auto* wrong = std::get_if<WrongQuestion>(&read)) {
    std::cerr << wrong->sentence << "\n";
    return kUsage;
  }
  const auto& [question, filter, asked, one_unit] = std::get<StudyRead>(read);
  if (question.one_unit())
    return tell_study(one_unit_of(store, filter, question.tests.metric, asked, one_unit));
  return tell_study(gauge_of(store, filter, question.tests.metric, asked));
}

}  // namespace endgate::daemon
