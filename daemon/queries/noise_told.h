// How noisy did the channels of a bench show themselves over its newest tests, and does its file say so?
//
// Tests under the bench file of the newest one count, those without a trace do not.  Each trace is
// decoded and calibrated as its own record says; analysis/commissioning_noise.h does the rest.
// The words are lines for the bench file, SI, with number of tests and 95 % interval as comments.

#pragma once

#include <string>
#include <vector>

#include "analysis/commissioning_noise.h"
#include "schema/store.h"

namespace endgate::daemon {

struct ChannelNoise {
  analysis::ChannelFacts facts;
  analysis::Outcome<analysis::LearnedNoise> learned;
};

struct NoiseTold {
  std::string bench;      // as the bench file is known: "bench north@3"
  std::size_t asked = 0;  // tests asked for
  std::size_t tests = 0;  // whose traces were read
  bool known = true;      // whether the store knows such a bench
  std::vector<ChannelNoise> channels;
};

// Of at most `count` tests, the newest, however long ago.  One record is in memory at a time; records
// are read from the newest on until there are enough.
[[nodiscard]] NoiseTold noise_told(const schema::StoreReader& store, const std::string& bench,
                                   std::size_t count);

// Does any channel show another noise than its bench file states?
[[nodiscard]] bool contradicted(const NoiseTold& told);

[[nodiscard]] std::vector<std::string> words_of(const NoiseTold& told);

}  // namespace endgate::daemon
