// How do the results of one test become the record that is kept?

#pragma once

#include <optional>
#include <string>

#include "analysis/context.h"
#include "analysis/evaluation.h"
#include "analysis/raw_trace.h"
#include "analysis/standing.h"
#include "schema/facts.h"

namespace endgate::daemon {

// What the daemon knows of a test besides its trace.
struct TestFacts {
  schema::TestStart start;
  schema::Position start_position = 0;
  schema::WallClock finished;
  std::optional<double> cycle_s;
  std::string software;
  bool simulated = false;
};

// Trace hash and file are left for the store to fill.
[[nodiscard]] schema::Record record_of(const TestFacts& facts, const analysis::RawTrace& trace,
                                       const analysis::Context& context,
                                       const analysis::Evaluation& evaluation,
                                       const analysis::Standing& standing);

// The record of a test that a restart found without one: void, broken_off_daemon_restarted.
[[nodiscard]] schema::Record broken_off_record(const schema::TestStart& start,
                                               schema::Position start_position,
                                               const schema::WallClock& found,
                                               const std::string& software);

}  // namespace endgate::daemon
