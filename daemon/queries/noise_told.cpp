#include "daemon/queries/noise_told.h"

#include <algorithm>
#include <cstddef>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "daemon/mapping/context_bytes.h"
#include "daemon/mapping/trace_of.h"
#include "daemon/queries/csv.h"

namespace endgate::daemon {
namespace {

constexpr int kNoiseDigits = 3;

struct OfChannel {
  double resolution_si = 0;
  std::vector<analysis::NoiseSums> tests;
};

void add_test(const analysis::BenchFacts& bench, const analysis::RawTrace& trace,
              std::map<std::string, OfChannel>& channels) {
  for (const analysis::Samples& samples : analysis::calibrate(trace, bench)) {
    if (samples.facts == nullptr) continue;
    OfChannel& channel = channels[samples.facts->id];
    channel.resolution_si = samples.resolution_si;
    channel.tests.push_back(analysis::noise_sums(samples, trace));
  }
}

std::string number(double value) { return csv_number(value, kNoiseDigits); }

std::string line(const char* key, const analysis::Learned& learned, double stated,
                 const char* unit) {
  const std::string said = learned.contradicts(stated)
                               ? ", where the file states " + number(stated)
                               : "; the file's " + number(stated) + " agrees";
  return std::string(key) + " = " + number(learned.value) + "   # " + number(learned.low) + " to " +
         number(learned.high) + unit + said;
}

void add_words(const ChannelNoise& channel, std::vector<std::string>& lines) {
  lines.push_back("");
  lines.push_back("id = \"" + channel.facts.id + "\"");
  if (!channel.learned) {
    lines.push_back("# not learned: " + channel.learned.error().detail);
    return;
  }
  lines.push_back("# from " + std::to_string(channel.learned->tests) + " tests");
  lines.push_back(
      line("noise_sigma_si", channel.learned->sigma_si, channel.facts.noise_sigma_si, ""));
  lines.push_back(line("noise_correlation_s", channel.learned->correlation_s,
                       channel.facts.noise_correlation_s, " s"));
}

// The records of a bench, newest first, until the visitor returns false.  There is no index by bench:
// spans of facts are read one behind the other, the newest first.  False: no test of it is kept, and
// no definition; of such a bench only the newest span is looked at.
template <class Visit>
bool for_each_from_the_newest(const schema::StoreReader& store, const std::string& bench,
                              const Visit& visit) {
  constexpr schema::Position kSpan = 4096;
  bool known = store.current_definition("bench", bench).has_value();
  for (schema::Position to = store.last_position(); to > 0; to -= kSpan) {
    std::vector<schema::Position> positions;
    store.for_each_record_behind(std::max<schema::Position>(0, to - kSpan),
                                 [&](const schema::StoredRecord& stored) {
                                   if (stored.position > to) return false;
                                   if (stored.record.start.bench == bench)
                                     positions.push_back(stored.position);
                                   return true;
                                 });
    known = known || !positions.empty();
    for (std::size_t i = positions.size(); i-- > 0;) {
      store.hold_to_deadline();
      const auto stored = store.record_at(positions[i]);
      if (stored && !visit(*stored)) return true;
    }
    if (!known) return false;
  }
  return known;
}

}  // namespace

NoiseTold noise_told(const schema::StoreReader& store, const std::string& bench,
                     std::size_t count) {
  NoiseTold told;
  told.asked = count;
  analysis::BenchFacts newest;
  std::map<std::string, OfChannel> channels;
  told.known = for_each_from_the_newest(store, bench, [&](const schema::StoredRecord& stored) {
    if (told.tests == count) return false;
    const std::optional<schema::Trace> trace = store.trace_of(stored);
    if (!trace || stored.record.context_bytes.empty()) return true;
    const analysis::BenchFacts facts = context_from(stored.record.context_bytes).bench;
    if (told.tests == 0) newest = facts;
    if (facts.definition != newest.definition) return false;
    add_test(facts, raw_trace_of(*trace), channels);
    ++told.tests;
    return true;
  });
  told.bench = newest.definition;
  for (const analysis::ChannelFacts& facts : newest.channels) {
    const OfChannel& channel = channels[facts.id];
    told.channels.push_back({facts, analysis::learn_noise(channel.tests, channel.resolution_si)});
  }
  return told;
}

bool contradicted(const NoiseTold& told) {
  return std::ranges::any_of(told.channels, [](const ChannelNoise& channel) {
    return channel.learned &&
           (channel.learned->sigma_si.contradicts(channel.facts.noise_sigma_si) ||
            channel.learned->correlation_s.contradicts(channel.facts.noise_correlation_s));
  });
}

std::vector<std::string> words_of(const NoiseTold& told) {
  if (!told.known) return {"No bench of this name is known here. See how it is written."};
  if (told.tests == 0) return {"No test of this bench is kept with its samples."};
  std::vector<std::string> lines{
      "# Noise as " + std::to_string(told.tests) + " tests under " + told.bench +
      " show it; intervals are 95 %. Lines for the tables [[channel]] of the bench file."};
  if (told.tests < told.asked)
    lines.push_back("# " + std::to_string(told.asked) +
                    " were asked for; no more are kept with samples under this file.");
  for (const ChannelNoise& channel : told.channels) add_words(channel, lines);
  return lines;
}

}  // namespace endgate::daemon
