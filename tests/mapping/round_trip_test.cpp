// Context and trace go into a record and come back whole.

#include <gtest/gtest.h>

#include <algorithm>

#include "daemon/mapping/context_bytes.h"
#include "daemon/mapping/context_fields.h"
#include "daemon/mapping/trace_of.h"
#include "schema/sha256.h"
#include "tests/support/random_struct.h"
#include "tests/support/store_helpers.h"

namespace endgate::daemon {
namespace {

using schema::StoreFault;
using test::fault_of;
using test::RandomStruct;
using test::same_fields;

analysis::RawTrace random_trace(RandomStruct& random) {
  auto trace = random.make<analysis::RawTrace>();  // the marks
  for (int c = 0; c < 3; ++c) {
    analysis::RawChannel channel{.id = "c" + std::to_string(c),
                                 .kind = static_cast<analysis::RawKind>(c),
                                 .time_us = {},
                                 .raw = {},
                                 .quality = {}};
    for (int i = 0; i < 20; ++i) {
      channel.time_us.push_back(20'000 * i + c);
      channel.raw.push_back(random.make<std::int64_t>());
      channel.quality.push_back(random.make<analysis::Quality>());
    }
    trace.channels.push_back(channel);
  }
  return trace;
}

bool same_channels(const analysis::RawTrace& a, const analysis::RawTrace& b) {
  return std::ranges::equal(a.channels, b.channels, [](const auto& x, const auto& y) {
    return x.id == y.id && x.kind == y.kind && x.time_us == y.time_us && x.raw == y.raw &&
           x.quality == y.quality;
  });
}

TEST(ContextBytes, GiveBackRandomContextsWhole_C1) {
  for (unsigned seed = 0; seed < 300; ++seed) {
    const auto context = RandomStruct(seed).make<analysis::Context>();
    const auto bytes = context_bytes(context);
    const analysis::Context back = context_from(bytes);
    ASSERT_TRUE(same_fields(back, context)) << "seed " << seed;
    ASSERT_EQ(context_bytes(back), bytes) << "seed " << seed;
  }
}

// Frozen: a stored context must be readable for ever.  Never edit the expected hash: a new field
// stands at the end of its struct and is not written while it is at its default.
TEST(ContextBytes, AreTheSameForEver) {
  const auto context = RandomStruct(20261118, test::Filled::at_first).make<analysis::Context>();
  EXPECT_EQ(schema::hex_of(schema::Sha256().bytes(context_bytes(context)).done()),
            "0fd69fe1e2909d5d0eee82d206c3e5a7bea5e35a7ad531261e88219e867879e4");
}

TEST(ContextBytes, AreNotReadAsSomethingElse) {
  const auto marks = schema::encode_document(schema::kMarksKind, analysis::RawTrace{});
  EXPECT_EQ(fault_of([&] { (void)context_from(marks); }), StoreFault::Kind::damaged);
  EXPECT_EQ(fault_of([&] { (void)context_from({}); }), StoreFault::Kind::damaged);
}

TEST(ContextBytes, RefuseARoleThatThisVersionDoesNotKnow) {
  analysis::Context context;
  context.bench.channels.resize(1);
  context.bench.channels[0].role = static_cast<analysis::Role>(analysis::kRoleCount);
  EXPECT_EQ(fault_of([&] { (void)context_from(context_bytes(context)); }),
            StoreFault::Kind::damaged);
}

TEST(ContextIds, NameEachAcceptedTextOnce) {
  analysis::Context context;
  context.bench.definition = "bench north@1";
  context.bench.channels.resize(2);
  for (analysis::ChannelFacts& channel : context.bench.channels)
    channel.calibration.id = "calibration north@2";
  context.model.definition = "model P1-60-12@1";
  context.model.thermal.id = "corrections P1-60-12@3";
  context.limits.id = "limits P1-60-12@1";
  EXPECT_EQ(context_ids(context),
            (std::vector<std::string>{"bench north@1", "calibration north@2", "model P1-60-12@1",
                                      "corrections P1-60-12@3", "limits P1-60-12@1"}));
}

TEST(StoredTrace, GivesBackChannelsAndMarksWhole) {
  for (unsigned seed = 0; seed < 200; ++seed) {
    RandomStruct random(seed);
    const analysis::RawTrace trace = random_trace(random);
    const schema::Trace at_rest = schema::decode(schema::encode(stored_trace_of(trace)));
    const analysis::RawTrace back = raw_trace_of(at_rest);
    ASSERT_TRUE(same_fields(back, trace)) << "marks, seed " << seed;
    ASSERT_TRUE(same_channels(back, trace)) << "channels, seed " << seed;
  }
}

TEST(StoredTrace, RefusesCodesThatThisVersionDoesNotKnow) {
  RandomStruct random(1);
  const schema::Trace stored = stored_trace_of(random_trace(random));
  schema::Trace unknown_quality = stored;
  unknown_quality.columns[0].quality[3] = 3;
  EXPECT_EQ(fault_of([&] { (void)raw_trace_of(unknown_quality); }), StoreFault::Kind::damaged);
  schema::Trace unknown_kind = stored;
  unknown_kind.columns[0].raw_kind = 3;
  EXPECT_EQ(fault_of([&] { (void)raw_trace_of(unknown_kind); }), StoreFault::Kind::damaged);
}

}  // namespace
}  // namespace endgate::daemon
