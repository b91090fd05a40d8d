// Which reasons may a verdict carry, and what does each mean in one line?
//
// schema/README.md lists the same.  A code is fixed for ever.  `channel_<state>` and
// `broken_off_<cause>` are families: one code per state of a channel and per cause.

#pragma once

#include <array>
#include <string_view>

#include "analysis/evaluation.h"
#include "analysis/raw_trace.h"

namespace endgate::analysis {

struct ReasonCode {
  std::string_view code;
  std::string_view meaning;
  Verdict supports;  // the verdict it speaks for
};

namespace reason {
inline constexpr std::string_view below_lower = "below_lower";
inline constexpr std::string_view above_upper = "above_upper";
inline constexpr std::string_view too_near_limit = "too_near_limit";
inline constexpr std::string_view no_room = "no_room";
inline constexpr std::string_view no_uncertainty = "no_uncertainty";
inline constexpr std::string_view metric_missing = "metric_missing";
inline constexpr std::string_view curve_contradicted = "curve_contradicted";
inline constexpr std::string_view curve_doubtful = "curve_doubtful";
inline constexpr std::string_view no_limits = "no_limits";
inline constexpr std::string_view trip_unit = "trip_unit";
inline constexpr std::string_view trip_unconfirmed = "trip_unconfirmed";
inline constexpr std::string_view trip_bench = "trip_bench";
inline constexpr std::string_view within_limits = "within_limits";
}  // namespace reason

inline constexpr std::array<ReasonCode, 36> kReasonCodes{{
    {reason::below_lower, "a metric is certainly below its lower limit", Verdict::fail},
    {reason::above_upper, "a metric is certainly above its upper limit", Verdict::fail},
    {reason::trip_unit, "an over-limit that accuses the unit, confirmed by a second channel",
     Verdict::fail},
    {reason::too_near_limit, "a metric is nearer to its limit than its guard band",
     Verdict::undecided},
    {reason::no_room, "the uncertainty leaves nothing between the two limits", Verdict::undecided},
    {reason::no_uncertainty, "a metric has a value but no known uncertainty", Verdict::undecided},
    {reason::metric_missing, "a metric that the limit set names has no value", Verdict::undecided},
    {reason::curve_contradicted, "the operating points contradict the fitted curve",
     Verdict::undecided},
    {reason::no_limits, "the limit set has no reject limit", Verdict::undecided},
    {reason::trip_unconfirmed, "an over-limit that accuses the unit, without a second witness",
     Verdict::void_},
    {reason::trip_bench, "an over-limit that accuses the bench", Verdict::void_},
    {"channel_missing", "a channel is not in the trace", Verdict::void_},
    {"channel_silent", "a channel gave no good sample for too long", Verdict::void_},
    {"channel_no_value", "a device said that it has no value", Verdict::void_},
    {"channel_out_of_range", "a channel read outside its sensor's range", Verdict::void_},
    {"channel_stuck", "a channel repeated one raw value while it must move", Verdict::void_},
    {"channel_too_fast", "a channel changed faster than anything real can", Verdict::void_},
    {"channel_time_sick", "the time stamps of a channel stand still or step back", Verdict::void_},
    {"channel_spiky", "a channel gave too many single odd samples", Verdict::void_},
    {"channel_noisy", "a channel is far noisier than its noise model", Verdict::void_},
    {"channel_zero_shift", "a channel does not read zero at rest, or no longer", Verdict::void_},
    {"channel_jumped", "the level of a channel changed where nothing real can", Verdict::void_},
    {"channel_implausible", "a channel contradicts other channels, whatever the unit is like",
     Verdict::void_},
    {"broken_off_silence", "a channel or device did not answer during the test", Verdict::void_},
    {"broken_off_lost_link", "the link to the bench was lost", Verdict::void_},
    {"broken_off_cover_open", "the cover was opened", Verdict::void_},
    {"broken_off_emergency_stop", "the emergency stop was pressed", Verdict::void_},
    {"broken_off_stopped_by_person", "a person stopped the test", Verdict::void_},
    {"broken_off_clock_sick", "the bench clock stopped, stepped back or left its rate",
     Verdict::void_},
    {"broken_off_lease_lost", "the bench opened the motor relay because its lease lapsed",
     Verdict::void_},
    {"broken_off_actuator_refused", "a command was refused or read back differently",
     Verdict::void_},
    {"broken_off_daemon_restarted", "the service ended during the test", Verdict::void_},
    {"broken_off_not_started", "a start condition was missing", Verdict::void_},
    {"broken_off_ended_by_service",
     "the service ended the test: it was shut down or could not keep the samples", Verdict::void_},
    {reason::curve_doubtful,
     "the operating points scatter about the curve more than chance explains", Verdict::pass},
    {reason::within_limits, "every reject limit is kept by more than its guard band",
     Verdict::pass},
}};

constexpr std::string_view code_of(HealthState state) {
  constexpr std::array<std::string_view, 13> codes{"",
                                                   "channel_missing",
                                                   "channel_silent",
                                                   "channel_no_value",
                                                   "channel_out_of_range",
                                                   "channel_stuck",
                                                   "channel_too_fast",
                                                   "channel_time_sick",
                                                   "channel_spiky",
                                                   "channel_noisy",
                                                   "channel_zero_shift",
                                                   "channel_jumped",
                                                   "channel_implausible"};
  return codes[static_cast<std::size_t>(state)];
}

constexpr std::string_view code_of(BreakOff cause) {
  constexpr std::array<std::string_view, 12> codes{"",
                                                   "broken_off_silence",
                                                   "broken_off_lost_link",
                                                   "broken_off_cover_open",
                                                   "broken_off_emergency_stop",
                                                   "broken_off_stopped_by_person",
                                                   "broken_off_clock_sick",
                                                   "broken_off_lease_lost",
                                                   "broken_off_actuator_refused",
                                                   "broken_off_daemon_restarted",
                                                   "broken_off_not_started",
                                                   "broken_off_ended_by_service"};
  return codes[static_cast<std::size_t>(cause)];
}

}  // namespace endgate::analysis
