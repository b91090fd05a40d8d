// kind = "causes": what each known fault of one model does to its readings.  Accepted like
// corrections; a model without one is graded all the same and no cause is stated.

#pragma once

#include <string>

#include "analysis/cause_table.h"

namespace endgate::daemon {

struct CauseFacts {
  std::string model;
  analysis::CauseTable table;
};

}  // namespace endgate::daemon
