// Has a value been reached that ends the step or the trial?
//
// A condition holds when its value has stood beyond it for for_s of bench time while it is
// watched.  A missing value neither begins nor ends that time and is no end itself: a silent
// channel is the business of safety.h.

#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "daemon/definitions/trial_plan.h"
#include "daemon/frame.h"

namespace endgate::daemon {

struct EndReached {
  bool ends_trial = false;
  std::string why;  // end_words.h
};

class EndWatch {
 public:
  explicit EndWatch(const std::vector<EndCondition>& ends);

  // `step` is under way.
  [[nodiscard]] std::optional<EndReached> on_frame(const Frame& frame, std::size_t step);

 private:
  struct Watched {
    EndCondition end;
    std::optional<std::int64_t> beyond_since_us;
  };
  std::vector<Watched> watched_;
};

}  // namespace endgate::daemon
