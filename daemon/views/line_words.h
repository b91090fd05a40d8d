// Which word, next action and sentence does a state of the line have?

#pragma once

#include <string>

#include "daemon/line/line_state.h"
#include "reports/line_view.h"

namespace endgate::daemon {

[[nodiscard]] std::string bench_name(const LineState& line);  // "north", without "Bench "

// A test runs and nothing is heard of its bench, not even whether its motor is off.
[[nodiscard]] bool not_heard(const LineState& line);
[[nodiscard]] bool is_trial(const LineState& line);  // of the lab

[[nodiscard]] std::string look_of(const LineState& line);  // "free", "pass", "out-of-use", ...
[[nodiscard]] std::string word_of(const LineState& line);  // "FREE", "PASS", ... at most 11 letters

// Next, note, sentence, paragraphs, standing, sound.
void add_words(reports::LineView& view, const LineState& line);

}  // namespace endgate::daemon
