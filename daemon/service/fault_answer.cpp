#include "daemon/service/fault_answer.h"

#include <sodium.h>

#include <cstdint>
#include <cstdio>
#include <string>

#include "daemon/log/log.h"

namespace endgate::daemon {
namespace {

// Random, so that a number is found once in the logs of many days.
std::string fresh_number() {
  std::uint32_t number = 0;
  randombytes_buf(&number, sizeof number);
  char text[9];
  std::snprintf(text, sizeof text, "%08x", number);
  return text;
}

}  // namespace

Response fault_answer(std::string_view where, std::string_view what) {
  const std::string number = fresh_number();
  log_error("fault " + number + " at " + std::string(where) + ": " + std::string(what));
  return refusal(500, "N-500",
                 "The service could not answer. Nothing was changed. Tell plant IT the number " +
                     number + ".");
}

}  // namespace endgate::daemon
