// The unit on a bench, as a station holds it between scan and verdict.

#pragma once

#include <optional>
#include <string>

#include "analysis/context.h"
#include "daemon/definitions/model_definition.h"
#include "daemon/line/identified_unit.h"
#include "daemon/line/upkeep_policy.h"
#include "schema/facts.h"

namespace endgate::daemon {

struct UnitOnBench {
  std::string serial;
  ModelDefinition model;
  analysis::Context context;  // pinned at the scan: an edit never touches a running test
  EarlierTests history;
  std::string batch;
  std::string operator_name;
  std::string purpose;
  std::string reference_name;        // of the reference unit it is; empty: it is none
  std::string retest_refusal;        // code of what an earlier outcome asks a reason for
  std::vector<UpkeepNotice> upkeep;  // what is due on the bench, read at the scan
  std::string reason;
  schema::TestStart start;
  schema::Position start_position = 0;
  TrialPlan plan;                        // of a lab trial; empty otherwise
  std::string trial_name;                // empty: none
  analysis::LimitSet production_limits;  // of the model: a trial is judged by its own
};

}  // namespace endgate::daemon
