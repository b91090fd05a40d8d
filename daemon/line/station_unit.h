// The unit on a bench, as a station holds it between scan and verdict.

#pragma once

#include <optional>
#include <string>

#include "analysis/context.h"
#include "daemon/definitions/model_definition.h"
#include "daemon/line/identified_unit.h"
#include "daemon/line/station.h"
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
  std::string retest_refusal;        // code of what an earlier outcome asks a reason for
  std::vector<UpkeepNotice> upkeep;  // what is due on the bench, read at the scan
  std::string reason;
  schema::TestStart start;
  schema::Position start_position = 0;
  TrialPlan plan;                        // of a lab trial; empty otherwise
  std::string trial_name;                // empty: none
  analysis::LimitSet production_limits;  // of the model: a trial is judged by its own
};

struct Station::Committed {
  schema::Position position = 0;
  std::string fault;                 // of the store
  std::vector<UpkeepNotice> upkeep;  // what is due on the bench now; one that blocks: nothing kept
  bool outdated = false;  // the unit was tested or entered elsewhere since its scan: nothing kept
};

}  // namespace endgate::daemon
