// `endgate verify`

#include "schema/verify.h"

#include <iostream>

#include "daemon/cli/commands.h"
#include "daemon/cli/exit_status.h"
#include "daemon/cli/store_place.h"
#include "daemon/cli/tell_every.h"
#include "schema/witness.h"

namespace endgate::daemon {
namespace {

void tell_progress(std::int64_t done) {
  if (done % kTellEvery == 0) std::cerr << done << " facts checked\n";
}

const char* words_of(schema::WitnessSays says) {
  switch (says) {
    case schema::WitnessSays::contained:
      return "the store contains the past of this head";
    case schema::WitnessSays::not_signed:
      return "the signature does not fit: the line was changed, or is not whole";
    case schema::WitnessSays::shorter:
      return "the store ends before this head: what came after its last fact was cut off";
    case schema::WitnessSays::other_past:
      break;
  }
  return "the store has another past than this head: it is another store, or was written anew";
}

// Of a store whose every fact was just found as sealed.
int hold_against_head(const VerifyCommand& command) {
  const auto witnessed = schema::read_witnessed(command.head);
  if (!witnessed) {
    std::cerr << "That is no line of `endgate head`: give the whole line, in quotes.\n";
    return kUsage;
  }
  const schema::WitnessSays says =
      schema::hold_against(schema::StoreReader(store_folder(command.store)), *witnessed);
  std::cout << "head at position " << witnessed->signed_head.position << ": " << words_of(says)
            << "\n";
  return says == schema::WitnessSays::contained ? kOk : kNegative;
}

}  // namespace

int run_command(const VerifyCommand& command) {
  const schema::VerifyResult result =
      schema::verify(store_folder(command.store), command.traces, tell_progress);
  std::cout << "facts: " << result.facts << "\n";
  if (command.traces) std::cout << "traces: " << result.traces << "\n";
  if (result.removed > 0)
    std::cout << "traces removed by a stated policy: " << result.removed << "\n";
  if (result.pieces > 0) std::cout << "pieces of long traces: " << result.pieces << "\n";
  std::cout << "head: " << schema::hex_of(result.head) << "\n";
  if (!result.first_bad) {
    std::cout << "every fact is what was sealed\n";
    if (!command.traces) std::cout << "traces were not read; --traces reads them too\n";
    return command.head.empty() ? kOk : hold_against_head(command);
  }
  std::cout << "first bad fact: position " << *result.first_bad << ": " << result.what << "\n"
            << "keep the folder as it is and go on from a copy: endgate restore\n";
  return kNegative;
}

}  // namespace endgate::daemon
