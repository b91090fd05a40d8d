// How does a command say how it went?  Exit statuses of every command.

#pragma once

#include <string>

namespace endgate::daemon {

enum ExitStatus : int {
  kOk = 0,
  kNegative = 1,  // the verdict or check is negative
  kUsage = 2,
  kConfiguration = 3,  // a file is wrong or missing
  kDevice = 4,
  kStorage = 5,
  kBusy = 6,  // somebody else has the store
  kInternal = 70,
};

// What a bench refused, by the code and HTTP status of its answer: an unknown name is a wrong
// argument, a bench without contact a device, one that tests already is busy.
[[nodiscard]] inline ExitStatus status_of_refusal(const std::string& code, int http_status) {
  if (http_status == 404) return kUsage;
  if (code == "U-110" || code == "B-229" || code == "B-230") return kBusy;
  if (code.starts_with("B-1") || code.starts_with("B-2")) return kDevice;
  if (code.starts_with("S-")) return kStorage;
  return kNegative;
}

}  // namespace endgate::daemon
