// Which single samples do not belong to their neighbours?
//
// RULE, over three samples on either side (m their median, d their median distance from m):
//
//   odd:  r_i = |y_i - m|  >  kOdd max( 1.4826 d, floor )   and   ( r_i > kAlone r  or  r_i > gross )
//
//   floor  noise of one sample by the bench file, at least one count
//   r      third largest r of the sixteen samples on either side: what comes again and again there
//          (ripple of a crank, sampled below its frequency) is no odd sample
//   gross  kGross of the range in which the channel spends nine tenths of the test: no ripple is so
//          large beside neighbours so quiet, however often it comes again
//   At the ends the neighbours of one side serve.  A ramp has its own median in the middle and a
//   wide d; a step leaves the neighbours of every sample split or on its own side.  So what really
//   moves is kept, and one or two samples in a row that nothing beside them supports are not.
//
// An odd sample is left out, never filled in, and counted: a channel with more than kOddShare of
// odd samples is sick (analysis/channel_health.h).
//
// Source: Hampel's identifier (from memory), with the second condition added.

#pragma once

#include <cstddef>
#include <span>
#include <vector>

namespace endgate::analysis {

inline constexpr double kOdd = 8;
inline constexpr double kAlone = 5;
inline constexpr double kGross = 0.15;
inline constexpr double kOddShare = 0.01;
inline constexpr std::size_t kOddCount = 5;  // so many are forgiven however short the test

// Indices, increasing.  Fewer than seven samples have no odd one.
[[nodiscard]] std::vector<std::size_t> odd_samples(std::span<const double> values, double floor);

}  // namespace endgate::analysis
