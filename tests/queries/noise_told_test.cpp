// Noise learned from a store: which tests count, and what is said of it.

#include "daemon/queries/noise_told.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <cmath>
#include <random>

#include "daemon/mapping/context_bytes.h"
#include "daemon/mapping/trace_of.h"
#include "tests/support/store_helpers.h"
#include "tests/support/temporary_folder.h"

namespace endgate::daemon {
namespace {

using testing::Contains;
using testing::HasSubstr;

constexpr double kSeenSigma_pa = 60;
constexpr double kSeenTau_s = 0.05;

analysis::Context noisy_context(double stated_sigma_pa, const std::string& definition) {
  analysis::Context context;
  context.bench.definition = definition;
  analysis::ChannelFacts& facts = context.bench.channels.emplace_back();
  facts.id = "discharge_pressure";
  facts.role = analysis::Role::discharge_pressure;
  facts.scale = 20;
  facts.offset_si = -50000;
  facts.range_min_si = -50000;
  facts.range_max_si = 1250000;
  facts.noise_sigma_si = stated_sigma_pa;
  facts.noise_correlation_s = kSeenTau_s;
  return context;
}

schema::Trace at_rest(unsigned seed) {
  analysis::RawTrace trace;
  std::mt19937 random(seed);
  std::normal_distribution<double> normal(0, 1);
  const double phi = std::exp(-0.016 / kSeenTau_s);
  double noise = kSeenSigma_pa * normal(random);
  analysis::RawChannel& channel = trace.channels.emplace_back();
  channel.id = "discharge_pressure";
  for (int i = 0; i < 94; ++i) {
    channel.time_us.push_back(16000 * i);
    channel.raw.push_back(std::lround((50000 + noise) / 20));
    channel.quality.push_back(analysis::Quality::good);
    noise = phi * noise + kSeenSigma_pa * std::sqrt(1 - phi * phi) * normal(random);
  }
  analysis::StepMark zero;
  zero.kind = analysis::StepKind::zero;
  zero.end_us = 1504000;
  trace.steps = {zero};
  return stored_trace_of(trace);
}

class NoiseToldTest : public testing::Test {
 protected:
  void keep(int tests, double stated_sigma_pa, const std::string& definition) {
    schema::StoreWriter writer(folder_.path());
    for (int i = 0; i < tests; ++i) {
      const schema::TestStart start = test::made_start("QH2648-0001-A", ++attempt_);
      schema::Record record = test::made_record(writer.append(start), start);
      record.context_bytes = context_bytes(noisy_context(stated_sigma_pa, definition));
      const schema::Trace trace = at_rest(static_cast<unsigned>(attempt_));
      record.trace_sha256 = schema::hash_of(trace);
      writer.append(record, trace);
    }
  }
  [[nodiscard]] NoiseTold told(std::size_t count = 200) const {
    return noise_told(schema::StoreReader(folder_.path()), "north", count);
  }

  test::TemporaryFolder folder_;
  std::int64_t attempt_ = 0;
};

TEST_F(NoiseToldTest, AgreesWithAFileThatStatesWhatTheTestsShow) {
  keep(40, kSeenSigma_pa, "bench north@1");
  EXPECT_EQ(told().tests, 40);
  EXPECT_FALSE(contradicted(told()));
  EXPECT_EQ(told(10).tests, 10);
  const std::vector<std::string> words = words_of(told());
  EXPECT_THAT(words, Contains(HasSubstr("40 tests under bench north@1")));
  EXPECT_THAT(words, Contains("id = \"discharge_pressure\""));
  EXPECT_THAT(words, Contains(HasSubstr("the file's 60 agrees")));
}

TEST_F(NoiseToldTest, SaysWhereTheFileStatesAnotherNoise) {
  keep(30, 20, "bench north@1");
  EXPECT_TRUE(contradicted(told()));
  EXPECT_THAT(words_of(told()), Contains(HasSubstr("where the file states 20")));
}

TEST_F(NoiseToldTest, TestsUnderAnOlderBenchFileDoNotCount) {
  keep(12, 20, "bench north@1");
  keep(9, kSeenSigma_pa, "bench north@2");
  EXPECT_EQ(told().tests, 9);
  EXPECT_EQ(told().bench, "bench north@2");
  EXPECT_FALSE(contradicted(told()));
}

TEST_F(NoiseToldTest, WithoutTestsItSaysSo) {
  {
    schema::StoreWriter writer(folder_.path());
    writer.append(schema::Definition{.kind = "bench", .subject = "north", .text = "a bench"});
  }
  EXPECT_EQ(told().tests, 0);
  EXPECT_THAT(words_of(told()), Contains(HasSubstr("No test of this bench")));
}

TEST_F(NoiseToldTest, ABenchThatNobodyKnowsIsNoQuietOne) {
  keep(2, kSeenSigma_pa, "bench north@1");
  const NoiseTold told = noise_told(schema::StoreReader(folder_.path()), "nroth", 200);
  EXPECT_FALSE(told.known);
  EXPECT_THAT(words_of(told), Contains(HasSubstr("No bench of this name")));
}

// Six thousand facts of other benches later.
TEST_F(NoiseToldTest, ABenchThatStoodStillForLongIsFoundAndCountedAgainstWhatWasAsked) {
  keep(12, kSeenSigma_pa, "bench north@1");
  {
    schema::StoreWriter writer(folder_.path());
    writer.append(schema::Definition{.kind = "bench", .subject = "north", .text = "a bench"});
    for (int i = 0; i < 3000; ++i) {
      schema::TestStart start = test::made_start("E" + std::to_string(i), 1);
      start.bench = "east";
      writer.append(test::made_record(writer.append(start), start), std::nullopt);
    }
  }
  EXPECT_EQ(told().tests, 12);
  EXPECT_THAT(words_of(told()), Contains(HasSubstr("200 were asked for")));
  EXPECT_THAT(words_of(told(12)), testing::Not(Contains(HasSubstr("were asked for"))));
}

}  // namespace
}  // namespace endgate::daemon
