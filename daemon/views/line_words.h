// Which word, next action and sentence does a state of the line have?

#pragma once

#include <string>

#include "daemon/line/line_state.h"
#include "reports/line_view.h"

namespace endgate::daemon {

[[nodiscard]] std::string bench_name(const LineState& line);  // "north", without "Bench "

[[nodiscard]] bool is_trial(const LineState& line);      // of the lab
[[nodiscard]] bool is_reference(const LineState& line);  // test of a reference unit

// A unit was scanned well, and the bench judges nothing until it is put right.
[[nodiscard]] bool bench_is_locked(const LineState& line);

// What the test is for: "Reference test, R1"; empty: a first one of production, or not chosen yet.
[[nodiscard]] std::string purpose_words(const LineState& line);

[[nodiscard]] std::string look_of(const LineState& line);  // "free", "pass", "out-of-use", ...
[[nodiscard]] std::string word_of(const LineState& line);  // "FREE", "PASS", ... at most 11 letters

// Next, note, sentence, paragraphs, standing, sound.
void add_words(reports::LineView& view, const LineState& line);

}  // namespace endgate::daemon
