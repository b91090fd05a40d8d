// How far is a long copy?  A line on standard error for each tenth of what is being done.

#pragma once

#include <cstdint>
#include <iostream>
#include <string>

#include "daemon/cli/tell_every.h"
#include "schema/backup.h"

namespace endgate::daemon {

class TellStep {
 public:
  void operator()(const schema::BackupStep& step) {
    if (step.of == 0) {
      if (step.done % kTellEvery == 0) std::cerr << step.doing << ": " << step.done << "\n";
      return;
    }
    const std::int64_t tenth = 10 * step.done / step.of;
    if (step.doing == doing_ && tenth == tenth_) return;
    doing_ = step.doing;
    tenth_ = tenth;
    std::cerr << step.doing << ": " << step.done << " of " << step.of << "\n";
  }

 private:
  std::string doing_;
  std::int64_t tenth_ = 0;
};

}  // namespace endgate::daemon
