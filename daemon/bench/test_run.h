// One test from its start command to its finished trace, without socket, timer or thread.
//
// Joins sequence, safety and trace recorder.  Frames and steady time in, commands out; the daemon's
// Bench, the lockstep harness and the tests drive the same object:
//
//   TestRun run(bench, model, calibrations);
//   carry_out(run.begin(frame).commands);
//   while (!run.finished()) {
//     carry_out(run.on_frame(next_frame()).commands);
//     if (auto sums = run.look()) run.on_advice(analysis::advise(*sums, context));  // or later
//   }
//   FinishedTest test = run.finish();
//
// A long run (TrialPlan::long_run) holds at most kPieceSamples and a digest: whoever drives it asks
// take_piece() after each frame and keeps what comes.
//
// A Frame comes from FrameMaker (frame_maker.h) fed with register words, or is made by hand.  In
// lockstep `Frame::arrived` is any steady time that advances with bench time.

#pragma once

#include <chrono>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "daemon/bench/channel_table.h"
#include "daemon/bench/digest.h"
#include "daemon/bench/finished_test.h"
#include "daemon/bench/frame_maker.h"
#include "daemon/bench/part.h"
#include "daemon/bench/safety.h"
#include "daemon/bench/sequence.h"
#include "daemon/bench/step_watch.h"
#include "daemon/bench/trace_recorder.h"
#include "daemon/bench/waveform_recorder.h"

namespace endgate::daemon {

class TestRun {
 public:
  using Steady = std::chrono::steady_clock::time_point;
  // A piece is due when so many samples are held, or after TrialPlan::piece_s.
  static constexpr std::size_t kPieceSamples = 250'000;  // 4 MB

  TestRun(const BenchDefinition& bench, const ModelDefinition& model,
          const std::vector<analysis::ChannelCalibration>& calibrations,
          const TrialPlan& plan = {});
  TestRun(const TestRun&) = delete;  // its parts refer to one another
  TestRun& operator=(const TestRun&) = delete;

  [[nodiscard]] SequenceOutput begin(const Frame& frame);
  // `read_backs` may be empty: then valves and supply are not checked.
  [[nodiscard]] SequenceOutput on_frame(const Frame& frame, const ReadBacks& read_backs = {});
  // What a device said before its round is whole: nothing of it is recorded or steers.
  [[nodiscard]] SequenceOutput on_part(const Part& part);
  // What advice is to be asked about, when it is time to ask; an answer is not waited for.
  [[nodiscard]] std::optional<analysis::StepSums> look() { return watch_.look(); }
  void on_advice(const analysis::Advice& advice) { sequence_.on_advice(advice); }
  // A poll of these channels was asked and not answered.
  void missed(std::span<const std::size_t> channels) { recorder_.missed(channels); }
  // The next piece of a long run, when one is due.
  [[nodiscard]] std::optional<analysis::RawTrace> take_piece();
  // Samples in memory, of pieces and digest.
  [[nodiscard]] std::size_t held_samples() const { return recorder_.held() + digest_.held(); }
  // Call it when no frame came: silence, and giving up on a bench that cannot be made safe.
  [[nodiscard]] SequenceOutput on_steady(Steady now);
  [[nodiscard]] SequenceOutput break_off(analysis::BreakOff cause, const std::string& detail);
  // The device was away or its clock is sick: what comes from here on is no part of the trace.
  void stop_recording() { recording_ = false; }

  // May the lease be renewed?  From the start until motor off is commanded for good, never after an
  // ending.  In a rest of a trial it is: the relay stays open by command and read-back, as in the
  // zero step.
  [[nodiscard]] bool lease_wanted() const;
  [[nodiscard]] bool motor_should_run() const { return sequence_.motor_should_run(); }
  [[nodiscard]] bool making_safe() const { return sequence_.making_safe(); }
  [[nodiscard]] bool finished() const { return given_up_ || sequence_.finished(); }
  [[nodiscard]] StepProgress progress() const { return sequence_.progress(); }
  [[nodiscard]] std::int64_t start_command_us() const { return start_us_; }
  // Once, when finished.
  [[nodiscard]] FinishedTest finish();

 private:
  [[nodiscard]] Safety::Situation situation() const;
  [[nodiscard]] SequenceOutput end_for(const SafetyFinding& found);
  void look_for_witness(const Frame& frame);
  SequenceOutput noted(SequenceOutput out);
  void record(const Frame& frame);
  [[nodiscard]] std::int64_t keep_every_us(const Frame& frame) const;
  [[nodiscard]] analysis::RawTrace piece_of(std::vector<analysis::RawChannel> channels);

  std::vector<std::string> step_names_;
  ChannelTable channels_;
  Sequence sequence_;
  Safety safety_;
  TraceRecorder recorder_;
  WaveformRecorder waveform_;
  Digest digest_;
  bool long_run_ = false;
  double keep_every_s_ = 0;
  std::size_t marks_handed_over_ = 0;
  std::int64_t piece_span_us_ = 0;
  std::int64_t piece_from_us_ = 0;
  StepWatch watch_;
  std::int64_t start_us_ = 0;
  std::int64_t last_us_ = 0;
  Steady last_at_{};
  std::int64_t newest_us_ = 0;  // of the newest frame, recorded or not
  Steady newest_at_{};
  bool started_ = false;  // the start step is over
  bool running_ = false;  // and the motor should run
  std::int64_t running_since_us_ = 0;
  bool motor_was_on_ = false;
  bool given_up_ = false;
  bool tripped_early_ = false;          // on a part; the frame of its round is still to come
  std::optional<std::string> witness_;  // the channel that agreed in that frame
  bool recording_ = true;
};

}  // namespace endgate::daemon
