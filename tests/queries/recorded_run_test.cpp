// A kept test as a file that can be played: numbers, missing ones, and what was commanded.

#include "daemon/queries/recorded_run.h"

#include <gtest/gtest.h>

#include <sstream>

#include "daemon/mapping/context_bytes.h"
#include "daemon/mapping/trace_of.h"

namespace endgate::daemon {
namespace {

using analysis::Quality;
using analysis::StepKind;

analysis::StepMark mark(StepKind kind, std::int64_t start_ms, std::int64_t end_ms,
                        double target_gauge_pa = 0) {
  analysis::StepMark made;
  made.kind = kind;
  made.target_gauge_pa = target_gauge_pa;
  made.start_us = 1000 * start_ms;
  made.end_us = 1000 * end_ms;
  return made;
}

analysis::ChannelFacts facts(const char* id, double scale, double offset_si) {
  analysis::ChannelFacts made;
  made.id = id;
  made.scale = scale;
  made.offset_si = offset_si;
  made.range_max_si = 1;
  return made;
}

std::string told(const std::vector<analysis::StepMark>& steps) {
  analysis::Context context;
  context.bench.channels = {facts("pressure", 20, -50'000), facts("flow", 0.5, 0)};
  analysis::RawTrace trace;
  trace.steps = steps;
  for (const char* id : {"pressure", "flow", "waveform"}) trace.channels.emplace_back().id = id;
  trace.channels[0].time_us = {10'000'000, 10'100'000, 10'200'000, 10'300'000};
  trace.channels[0].raw = {2500, 2505, 0, 0};
  trace.channels[0].quality = {Quality::good, Quality::good, Quality::no_value,
                               Quality::not_arrived};
  trace.channels[1].time_us = {10'000'000, 10'250'000};
  trace.channels[1].raw = {1, 2};
  trace.channels[1].quality = {Quality::good, Quality::good};
  schema::Record record;
  record.context_bytes = context_bytes(context);
  std::ostringstream out;
  write_recorded_run(record, stored_trace_of(trace), out);
  return out.str();
}

TEST(RecordedRunTold, HasAColumnForEachChannelInSiAndWhatWasCommanded) {
  EXPECT_EQ(told({mark(StepKind::zero, 10'000, 10'100), mark(StepKind::start, 10'100, 10'200),
                  mark(StepKind::hold, 10'200, 10'260, 4e5), mark(StepKind::vent, 10'260, 10'300)}),
            "time_s,pressure,flow,set_motor_relay,set_back_pressure,set_vent,set_seal_vent\n"
            "0,0,0.5,0,0,1,1\n"
            "0.1,100,,0,0,1,1\n"     // the command goes out behind the sample that led to it
            "0.2,none,,1,0,0,1\n"    //
            "0.25,,1,1,4e+05,0,1\n"  //
            "0.3,,,0,0,1,1\n");
}

TEST(RecordedRunTold, ATestThatWasBrokenOffEndsWithTheMotorOff) {
  const std::string text =
      told({mark(StepKind::zero, 10'000, 10'050), mark(StepKind::start, 10'050, 10'220)});
  EXPECT_NE(text.find("\n0.1,100,,1,0,0,1\n"), std::string::npos) << text;
  EXPECT_NE(text.find("\n0.25,,1,0,0,1,1\n"), std::string::npos) << text;
}

// The housing is filled beside the back leak; the receiver is emptied when that is over.
TEST(RecordedRunTold, TheHousingHasItsOwnValves) {
  const std::string text =
      told({mark(StepKind::hold, 9'000, 10'050, 4e5), mark(StepKind::back_leak, 10'050, 10'150),
            mark(StepKind::seal_leak, 10'050, 10'220)});
  EXPECT_NE(text.find("\n0.1,100,,0,4e+05,1,0\n"), std::string::npos) << text;
  EXPECT_NE(text.find("\n0.2,none,,0,0,1,0\n"), std::string::npos) << text;
  EXPECT_NE(text.find("\n0.25,,1,0,0,1,1\n"), std::string::npos) << text;
}

}  // namespace
}  // namespace endgate::daemon
