#include "daemon/links/sample_block.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <bit>

#include "tests/links/made_block.h"

namespace endgate::daemon {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using Bytes = std::vector<std::uint8_t>;
using Blocks = std::vector<std::shared_ptr<const SampleBlock>>;

// The example of sample_block.h.
const Bytes kExample{0x1d, 0, 0, 0,    0x53, 0x42, 1, 1, 7, 0, 0, 0, 0x40, 0x42, 0x0f, 0, 0,
                     0,    0, 0, 0x50, 0xc3, 0,    0, 3, 0, 0, 1, 0, 0xfe, 0xff, 0x2c, 1};

TEST(SampleBlock, IsReadAsItsDescriptionShows) {
  SampleBlockParser parser;
  Blocks blocks;
  ASSERT_TRUE(parser.feed(kExample, blocks)) << parser.fault();
  ASSERT_EQ(blocks.size(), 1u);
  EXPECT_EQ(blocks[0]->sequence, 7u);
  EXPECT_EQ(blocks[0]->first_us, 1'000'000);
  EXPECT_THAT(blocks[0]->columns.at(0).raw, ElementsAre(1, -2, 300));
  EXPECT_EQ(blocks[0]->last_us(), 1'000'100);
}

TEST(SampleBlock, MayComeByteByByteAndSeveralInOnePiece) {
  Bytes three;
  for (int i = 0; i < 3; ++i) three.insert(three.end(), kExample.begin(), kExample.end());
  SampleBlockParser whole, drop_by_drop;
  Blocks at_once, dripped;
  EXPECT_TRUE(whole.feed(three, at_once));
  for (const std::uint8_t& byte : three) ASSERT_TRUE(drop_by_drop.feed({&byte, 1}, dripped));
  EXPECT_EQ(at_once.size(), 3u);
  EXPECT_EQ(dripped.size(), 3u);
}

TEST(SampleBlock, HoldsColumnsOfEveryType) {
  tests::MadeBlock made;
  made.columns = {{SampleType::int16, {-32768, 32767}},
                  {SampleType::int32, {-2'000'000'000, 2'000'000'000}},
                  {SampleType::float32,
                   {std::bit_cast<std::int32_t>(1.5f), std::bit_cast<std::int32_t>(-0.25f)}}};
  SampleBlockParser parser;
  Blocks blocks;
  ASSERT_TRUE(parser.feed(made.bytes(), blocks)) << parser.fault();
  for (std::size_t i = 0; i < 3; ++i)
    EXPECT_EQ(blocks.at(0)->columns.at(i).raw, made.columns[i].raw);
}

struct Damage {
  const char* what;
  std::size_t at;
  std::uint8_t value;
};
class DamagedBlock : public ::testing::TestWithParam<Damage> {};

TEST_P(DamagedBlock, IsRefusedWithItsReason) {
  Bytes bytes = kExample;
  bytes[GetParam().at] = GetParam().value;
  SampleBlockParser parser;
  Blocks blocks;
  EXPECT_FALSE(parser.feed(bytes, blocks));
  EXPECT_THAT(parser.fault(), HasSubstr(GetParam().what));
  EXPECT_THAT(blocks, IsEmpty());
  EXPECT_FALSE(parser.feed(kExample, blocks)) << "no guess where the next block begins";
}

INSTANTIATE_TEST_SUITE_P(
    EveryField, DamagedBlock,
    ::testing::Values(Damage{"larger than allowed", 3, 1}, Damage{"whole header", 0, 3},
                      Damage{"version 1", 4, 0}, Damage{"version 1", 6, 2},
                      Damage{"too many columns", 7, 0}, Damage{"too many columns", 7, 33},
                      Damage{"column types", 7, 32}, Damage{"beyond all sense", 19, 0xff},
                      Damage{"without samples", 24, 0}, Damage{"does not fit", 24, 4},
                      Damage{"unknown type", 26, 3}));

}  // namespace
}  // namespace endgate::daemon
