// `endgate verify`

#include "schema/verify.h"

#include <iostream>

#include "daemon/cli/commands.h"
#include "daemon/cli/exit_status.h"
#include "daemon/cli/store_place.h"
#include "daemon/cli/tell_every.h"

namespace endgate::daemon {
namespace {

std::string hex_of(const schema::Hash& hash) {
  constexpr const char* kDigits = "0123456789abcdef";
  std::string text;
  for (const std::uint8_t byte : hash) {
    text += kDigits[byte >> 4U];
    text += kDigits[byte & 15U];
  }
  return text;
}

void tell_progress(std::int64_t done) {
  if (done % kTellEvery == 0) std::cerr << done << " facts checked\n";
}

}  // namespace

int run_command(const VerifyCommand& command) {
  const schema::VerifyResult result =
      schema::verify(store_folder(command.store), command.traces, tell_progress);
  std::cout << "facts: " << result.facts << "\n";
  if (command.traces) std::cout << "traces: " << result.traces << "\n";
  if (result.pieces > 0) std::cout << "pieces of long traces: " << result.pieces << "\n";
  std::cout << "head: " << hex_of(result.head) << "\n";
  if (!result.first_bad) {
    std::cout << "every fact is what was sealed\n";
    if (!command.traces) std::cout << "traces were not read; --traces reads them too\n";
    return kOk;
  }
  std::cout << "first bad fact: position " << *result.first_bad << ": " << result.what << "\n"
            << "keep the folder as it is and go on from a copy: endgate restore\n";
  return kNegative;
}

}  // namespace endgate::daemon
