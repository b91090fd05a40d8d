// How long may an answer take, from the question to the words that it took too long?
//
// Each waits for the one below it and a little more, so that the innermost words arrive.  Steady
// clock.

#pragma once

#include <chrono>

namespace endgate::daemon {

// Reading and counting in the store for a person; what is drawn and written afterwards is short.
inline constexpr std::chrono::seconds kLongestQuestion{20};
// The server, for a question (GET) ...
inline constexpr std::chrono::seconds kQuestionAnsweredWithin =
    kLongestQuestion + std::chrono::seconds(4);
// ... and for a command (POST), which nothing slow stands before.
inline constexpr std::chrono::seconds kCommandAnsweredWithin{12};
// A client that sent a command.
inline constexpr std::chrono::seconds kClientWaits =
    kCommandAnsweredWithin + std::chrono::seconds(3);

}  // namespace endgate::daemon
