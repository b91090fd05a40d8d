// The bytes that are hashed: one encoding per value, every field in it, frozen.

#include "schema/canonical.h"

#include <gtest/gtest.h>

#include <boost/pfr/core.hpp>
#include <limits>

#include "schema/fact_fields.h"
#include "schema/seal.h"
#include "tests/support/random_struct.h"
#include "tests/support/store_helpers.h"

namespace endgate::schema {
namespace grown {  // one struct before and after it grew

struct InnerBefore {
  int count = 0;
};
struct InnerAfter {
  int count = 0;
  int late = 7;
};
struct Before {
  std::string serial{};
  InnerBefore inner{};
};
struct After {
  std::string serial{};
  InnerAfter inner{};
  std::optional<double> first{};
  std::string second{};
};

}  // namespace grown

template <>
inline constexpr auto kFields<grown::InnerBefore> =
    std::tuple{Field{"count", &grown::InnerBefore::count}};
template <>
inline constexpr auto kFields<grown::InnerAfter> =
    std::tuple{Field{"count", &grown::InnerAfter::count}, Field{"late", &grown::InnerAfter::late}};
template <>
inline constexpr std::size_t kFieldsAtFirst<grown::InnerAfter> = 1;
template <>
inline constexpr auto kFields<grown::Before> =
    std::tuple{Field{"serial", &grown::Before::serial}, Field{"inner", &grown::Before::inner}};
template <>
inline constexpr auto kFields<grown::After> =
    std::tuple{Field{"serial", &grown::After::serial}, Field{"inner", &grown::After::inner},
               Field{"first", &grown::After::first}, Field{"second", &grown::After::second}};
template <>
inline constexpr std::size_t kFieldsAtFirst<grown::After> = 2;

namespace {

using test::fault_of;
using test::RandomStruct;

template <class Struct>
constexpr bool kListsEveryField = kFieldCount<Struct> == boost::pfr::tuple_size_v<Struct>;

TEST(Canonical, ListsEveryFieldOfEveryFact_C2) {
  static_assert(kListsEveryField<WallClock>);
  static_assert(kListsEveryField<StoreOpened>);
  static_assert(kListsEveryField<Definition>);
  static_assert(kListsEveryField<TestStart>);
  static_assert(kListsEveryField<UncertaintyPart>);
  static_assert(kListsEveryField<MetricValue>);
  static_assert(kListsEveryField<LimitAsWas>);
  static_assert(kListsEveryField<ReasonGiven>);
  static_assert(kListsEveryField<DrawnPoint>);
  static_assert(kListsEveryField<CurveAsFitted>);
  static_assert(kListsEveryField<PointAsReduced>);
  static_assert(kListsEveryField<HealthAsFound>);
  static_assert(kListsEveryField<Record>);
  static_assert(kListsEveryField<Repair>);
  static_assert(kListsEveryField<BenchEvent>);
  static_assert(kListsEveryField<PartLot>);
  static_assert(kListsEveryField<Lots>);
  static_assert(kListsEveryField<Disposition>);
  static_assert(kListsEveryField<ReturnIntake>);
  static_assert(kListsEveryField<Alarm>);
  static_assert(kListsEveryField<ImportedTest>);
  static_assert(kListsEveryField<TraceRemoved>);
  static_assert(kListsEveryField<BenchCheck>);
  static_assert(kListsEveryField<Withdrawal>);
}

template <class Kind>
void goes_there_and_back(unsigned seed) {
  RandomStruct random(seed);
  const Kind value = random.make<Kind>();
  const Bytes bytes = encode(Fact(value));
  const Fact back = decode_fact(bytes);
  ASSERT_TRUE(std::holds_alternative<Kind>(back));
  ASSERT_TRUE(test::same_fields(std::get<Kind>(back), value)) << "seed " << seed;
  ASSERT_EQ(encode(back), bytes) << "seed " << seed;
}

TEST(Canonical, GivesBackRandomFactsOfEveryKind_C1) {
  for (unsigned seed = 0; seed < 300; ++seed) {
    goes_there_and_back<StoreOpened>(seed);
    goes_there_and_back<Definition>(seed);
    goes_there_and_back<TestStart>(seed);
    goes_there_and_back<Record>(seed);
    goes_there_and_back<Repair>(seed);
    goes_there_and_back<BenchEvent>(seed);
    goes_there_and_back<Lots>(seed);
    goes_there_and_back<Disposition>(seed);
    goes_there_and_back<ReturnIntake>(seed);
    goes_there_and_back<Alarm>(seed);
    goes_there_and_back<ImportedTest>(seed);
    goes_there_and_back<TraceRemoved>(seed);
    goes_there_and_back<BenchCheck>(seed);
    goes_there_and_back<Withdrawal>(seed);
  }
}

TEST(Canonical, KeepsTheBitsOfExtremeNumbers_C1) {
  for (const double value :
       {0.0, -0.0, std::numeric_limits<double>::denorm_min(), std::numeric_limits<double>::max(),
        -std::numeric_limits<double>::infinity()}) {
    CanonicalWriter out;
    out.real(value);
    const Bytes bytes = out.take();
    CanonicalReader in(bytes);
    EXPECT_EQ(std::bit_cast<std::uint64_t>(in.real()), std::bit_cast<std::uint64_t>(value));
  }
}

TEST(Canonical, TellsAMissingNumberFromZero) {
  MetricValue zero{.id = "fad_0", .value = 0.0};
  MetricValue missing{.id = "fad_0"};
  EXPECT_NE(encode_document(9, zero), encode_document(9, missing));
  EXPECT_FALSE(decode_document<MetricValue>(9, encode_document(9, missing)).value);
}

// Frozen: if this fails, stored seals can no longer be recomputed.  Never edit the expected bytes.
TEST(Canonical, WritesTheSameBytesForEver) {
  const Repair repair{
      .serial = "QH1",
      .finding = "Ventil",
      .parts = "",
      .by = "Zo\xc3\xab",
      .at = {.utc_ms = 1'795'000'000'000, .synchronised = true, .max_error_us = -1}};
  EXPECT_EQ(hex_of(encode(Fact(repair))),
            "0001"                    // format
            "0005"                    // kind: repair
            "0400000003514831"        // serial
            "040000000656656e74696c"  // finding
            "0400000000"              // parts
            "04000000045a6fc3ab"      // by
            "0700000003"              // at: three fields
            "02000001a1ee565e00"      // utc_ms
            "0101"                    // synchronised
            "02ffffffffffffffff");    // max_error_us
}

// Covers the order and width of every field of a record (made_record is frozen with it).
TEST(Canonical, WritesTheSameHashOfARecordForEver) {
  const Record record = test::made_record(2, test::made_start("QH26480117-A"));
  EXPECT_EQ(hex_of(leaf_of(encode(Fact(record)))),
            "252c415550446933efd77145189cea1675a97d5ca390befedf20ef5731536d00");
}

TEST(Canonical, ChainsHeadsOverPositionAndLeaf_S3) {
  const Hash leaf = leaf_of(Bytes{'a'});
  EXPECT_EQ(leaf, Sha256().bytes(Bytes{0, 'a'}).done());
  const Bytes position{0, 0, 0, 0, 0, 0, 0, 7};
  EXPECT_EQ(head_of(Hash{}, 7, leaf),
            Sha256().byte(1).bytes(Hash{}).bytes(position).bytes(leaf).done());
}

// Source of the two values: FIPS 180-2, appendix B (from memory).
TEST(Canonical, UsesSha256) {
  EXPECT_EQ(hex_of(sha256_of("abc")),
            "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
  EXPECT_EQ(hex_of(sha256_of("abcdbcdecdefdefgefghfghighijhijkijkljklmklmnlmnomnopnopq")),
            "248d6a61d20638b8e5c026930c3e6039a33ce45964ff2167f6ecedd419db06c1");
}

// Cut where a late field begins it is a record of before that field; the seal tells them apart.
TEST(Canonical, RefusesOrReencodesEveryTruncationOfARecord_C3) {
  RandomStruct random(5);
  const Bytes bytes = encode(Fact(random.make<Record>()));
  std::size_t refused = 0;
  for (std::size_t size = 0; size < bytes.size(); ++size) {
    const Bytes cut(bytes.begin(), bytes.begin() + static_cast<std::ptrdiff_t>(size));
    std::optional<Fact> read;
    if (fault_of([&] { read = decode_fact(cut); }))
      ++refused;
    else
      ASSERT_EQ(encode(*read), cut) << "cut to " << size;
  }
  EXPECT_EQ(refused, bytes.size() - (kFieldCount<Record> - kFieldsAtFirst<Record>));
}

TEST(Canonical, ReadsAndKeepsWhatWasSealedBeforeAStructGrew_C4) {
  const Bytes before = encode_document(9, grown::Before{.serial = "QH1", .inner = {3}});
  const auto read = decode_document<grown::After>(9, before);
  EXPECT_EQ(read.serial, "QH1");
  EXPECT_EQ(read.inner.count, 3);
  EXPECT_EQ(read.inner.late, 7) << "a late field that was not written has its default";
  EXPECT_EQ(encode_document(9, read), before);
}

TEST(Canonical, WritesLateFieldsUpToTheLastThatIsNotAtItsDefault_C4) {
  grown::After value{.serial = "QH1"};
  const std::size_t none = encode_document(9, value).size();
  value.second = "b";
  const Bytes both = encode_document(9, value);
  EXPECT_EQ(both.size(), none + 1 + 6) << "first is missing, second is a text of one byte";
  const auto read = decode_document<grown::After>(9, both);
  EXPECT_FALSE(read.first);
  EXPECT_EQ(read.second, "b");
}

TEST(Canonical, RefusesALateFieldThatIsWrittenAtItsDefault_C4) {
  Bytes bytes = encode_document(9, grown::After{.serial = "QH1"});
  bytes.push_back(static_cast<std::uint8_t>(Tag::missing));
  EXPECT_EQ(fault_of([&] { (void)decode_document<grown::After>(9, bytes); }),
            StoreFault::Kind::damaged);
}

TEST(Canonical, RefusesAGroupOfMoreFieldsThanItKnows_C4) {
  const Bytes later = encode_document(9, grown::After{.serial = "QH1", .inner = {3, 8}});
  EXPECT_EQ(fault_of([&] { (void)decode_document<grown::Before>(9, later); }),
            StoreFault::Kind::damaged);
}

TEST(Canonical, RefusesOrReencodesEveryChangedByte_C3) {
  RandomStruct random(6);
  const Bytes bytes = encode(Fact(random.make<Record>()));
  int refused = 0;
  for (std::size_t at = 0; at < bytes.size(); ++at) {
    Bytes changed = bytes;
    changed[at] ^= static_cast<std::uint8_t>(1U << at % 8);
    std::optional<Fact> read;
    if (fault_of([&] { read = decode_fact(changed); }))
      ++refused;
    else
      ASSERT_EQ(encode(*read), changed) << "byte " << at;
  }
  EXPECT_GT(refused, 0);
}

TEST(Canonical, RefusesAnEnormousLengthWithoutAllocatingIt_C3) {
  const Bytes bytes{6, 0xff, 0xff, 0xff, 0xff};
  CanonicalReader in(bytes);
  EXPECT_EQ(fault_of([&] { (void)in.list(); }), StoreFault::Kind::damaged);
}

TEST(Canonical, SaysThatALaterFormatNeedsALaterProgram) {
  EXPECT_EQ(fault_of([] {
              (void)decode_fact(Bytes{0, 2, 0, 5});
            }),
            StoreFault::Kind::wrong_version);
}

TEST(Canonical, TellsUtf8FromOtherBytes) {
  EXPECT_TRUE(is_utf8("Zo\xc3\xab \xe2\x82\xac \xf0\x9f\x94\xa7"));
  for (const std::string wrong : {"\x80", "\xc3", "\xc0\xaf", "\xe0\x80\x80", "\xed\xa0\x80",
                                  "\xf4\x90\x80\x80", "\xff", "a\xe2\x82"})
    EXPECT_FALSE(is_utf8(wrong)) << wrong;
}

}  // namespace
}  // namespace endgate::schema
