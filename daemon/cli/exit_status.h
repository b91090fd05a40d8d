// How does a command say how it went?  Exit statuses of every command.

#pragma once

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

}  // namespace endgate::daemon
