#include "daemon/links/modbus_pdu.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <random>

namespace endgate::daemon::modbus {
namespace {

using ::testing::ElementsAre;
using ::testing::HasSubstr;
using Bytes = std::vector<std::uint8_t>;
using State = AnswerParser::State;

Request read_holding() { return {0x0102, 0x11, 3, 0x006B, 3, {}}; }

// A PDU behind the MBAP header that fits a request.
Bytes framed(const Request& request, const Bytes& pdu) {
  Bytes bytes(7 + pdu.size());
  bytes[0] = static_cast<std::uint8_t>(request.transaction >> 8);
  bytes[1] = static_cast<std::uint8_t>(request.transaction & 0xff);
  bytes[4] = static_cast<std::uint8_t>((pdu.size() + 1) >> 8);
  bytes[5] = static_cast<std::uint8_t>((pdu.size() + 1) & 0xff);
  bytes[6] = request.unit;
  for (std::size_t i = 0; i < pdu.size(); ++i) bytes[7 + i] = pdu[i];
  return bytes;
}

const Bytes kReadAnswer{0x03, 0x06, 0x02, 0x2B, 0x00, 0x00, 0x00, 0x64};

// The PDU bytes of these examples are those of the Modbus Application Protocol Specification
// V1.1b3, sections 6.3, 6.4, 6.6, 6.12 and 7 (from memory).
TEST(ModbusRequest, ReadsHoldingRegistersAsTheSpecificationShows) {
  EXPECT_THAT(encode(read_holding()),
              ElementsAre(0x01, 0x02, 0x00, 0x00, 0x00, 0x06, 0x11, 0x03, 0x00, 0x6B, 0x00, 0x03));
}

TEST(ModbusRequest, ReadsInputRegistersAsTheSpecificationShows) {
  EXPECT_THAT(encode({1, 1, 4, 8, 1, {}}),
              ElementsAre(0, 1, 0, 0, 0, 6, 1, 0x04, 0x00, 0x08, 0x00, 0x01));
}

TEST(ModbusRequest, WritesOneRegisterAsTheSpecificationShows) {
  EXPECT_THAT(encode({1, 1, 6, 1, 0, {3}}),
              ElementsAre(0, 1, 0, 0, 0, 6, 1, 0x06, 0x00, 0x01, 0x00, 0x03));
}

TEST(ModbusRequest, WritesSeveralRegistersAsTheSpecificationShows) {
  EXPECT_THAT(encode({1, 1, 16, 1, 0, {0x000A, 0x0102}}),
              ElementsAre(0, 1, 0, 0, 0, 11, 1, 0x10, 0x00, 0x01, 0x00, 0x02, 0x04, 0x00, 0x0A,
                          0x01, 0x02));
}

TEST(ModbusAnswer, GivesTheWordsOfTheSpecificationsExample) {
  AnswerParser parser(read_holding());
  ASSERT_EQ(parser.feed(framed(read_holding(), kReadAnswer)), State::done);
  EXPECT_THAT(parser.words(), ElementsAre(555, 0, 100));
}

TEST(ModbusAnswer, MayComeByteByByte) {
  AnswerParser parser(read_holding());
  const Bytes bytes = framed(read_holding(), kReadAnswer);
  for (std::size_t i = 0; i + 1 < bytes.size(); ++i)
    ASSERT_EQ(parser.feed({&bytes[i], 1}), State::needs_more) << i;
  EXPECT_EQ(parser.feed({&bytes.back(), 1}), State::done);
}

TEST(ModbusAnswer, TellsAnExceptionAnswerWithItsCode) {
  AnswerParser parser(read_holding());
  ASSERT_EQ(parser.feed(framed(read_holding(), {0x83, 0x02})), State::refused);
  EXPECT_EQ(parser.exception(), 2);
}

struct WrongByte {
  const char* what;
  std::size_t at;
  std::uint8_t value;
};
class ModbusAnswerWithAWrongByte : public ::testing::TestWithParam<WrongByte> {};

TEST_P(ModbusAnswerWithAWrongByte, IsGarbled) {
  Bytes bytes = framed(read_holding(), kReadAnswer);
  bytes[GetParam().at] = GetParam().value;
  AnswerParser parser(read_holding());
  EXPECT_EQ(parser.feed(bytes), State::garbled);
  EXPECT_THAT(parser.fault(), HasSubstr(GetParam().what));
}

INSTANTIATE_TEST_SUITE_P(EveryField, ModbusAnswerWithAWrongByte,
                         ::testing::Values(WrongByte{"another request", 0, 0x07},
                                           WrongByte{"another request", 1, 0x07},
                                           WrongByte{"protocol", 2, 1}, WrongByte{"protocol", 3, 1},
                                           WrongByte{"length", 4, 1}, WrongByte{"length", 5, 8},
                                           WrongByte{"another unit", 6, 0x12},
                                           WrongByte{"another function", 7, 4},
                                           WrongByte{"byte count", 8, 4}));

TEST(ModbusAnswer, WithBytesBehindItIsGarbled) {
  Bytes bytes = framed(read_holding(), kReadAnswer);
  bytes.push_back(0);
  AnswerParser parser(read_holding());
  EXPECT_EQ(parser.feed(bytes), State::garbled);
}

TEST(ModbusAnswer, MustEchoTheWrittenValue) {
  const Request write{1, 1, 6, 102, 0, {0}};
  AnswerParser good(write), bad(write);
  EXPECT_EQ(good.feed(framed(write, {6, 0, 102, 0, 0})), State::done);
  EXPECT_EQ(bad.feed(framed(write, {6, 0, 102, 0, 1})), State::garbled);
}

TEST(ModbusAnswer, MustEchoTheCountOfSeveralWrites) {
  const Request write{1, 1, 16, 100, 0, {7, 8}};
  AnswerParser good(write), bad(write);
  EXPECT_EQ(good.feed(framed(write, {16, 0, 100, 0, 2})), State::done);
  EXPECT_EQ(bad.feed(framed(write, {16, 0, 101, 0, 2})), State::garbled);
}

Request any_request(std::mt19937& random) {
  const std::uint8_t functions[] = {3, 4, 6, 16};
  Request request{static_cast<std::uint16_t>(random()),
                  1,
                  functions[random() % 4],
                  static_cast<std::uint16_t>(random()),
                  static_cast<std::uint16_t>(random() % kMostRead + 1),
                  {}};
  request.values.resize(request.function == 6 ? 1 : random() % kMostWritten + 1);
  return request;
}

// Random bytes, half of them behind a fitting header so that the body is reached too.
Bytes any_bytes(std::mt19937& random, const Request& request) {
  Bytes bytes(random() % 290 + 1);
  for (auto& byte : bytes) byte = static_cast<std::uint8_t>(random());
  if (random() % 2 == 0) return bytes;
  const bool exception = random() % 4 == 0;
  if (exception) bytes.resize(2);
  const bool read = request.function == 3 || request.function == 4;
  if (!exception) bytes.resize(read ? 2u + 2u * request.count : 5u);
  bytes[0] = static_cast<std::uint8_t>(request.function | (exception ? 0x80 : 0));
  if (read && !exception) bytes[1] = static_cast<std::uint8_t>(2 * request.count);
  return framed(request, bytes);
}

TEST(ModbusAnswer, SurvivesTwoHundredThousandRandomByteStrings) {
  std::mt19937 random(20261125);
  std::array<int, 4> seen{};
  for (int i = 0; i < 200'000; ++i) {
    const Request request = any_request(random);
    const Bytes bytes = any_bytes(random, request);
    AnswerParser parser(request);
    std::size_t from = 0;
    while (from < bytes.size()) {
      const std::size_t count = std::min<std::size_t>(random() % 64 + 1, bytes.size() - from);
      parser.feed({bytes.data() + from, count});
      from += count;
    }
    ++seen[static_cast<std::size_t>(parser.state())];
    const bool has_words = parser.state() == State::done && request.function < 6;
    if (has_words) {
      EXPECT_EQ(parser.words().size(), request.count);
    }
  }
  for (const State state : {State::done, State::refused, State::garbled})
    EXPECT_GT(seen[static_cast<std::size_t>(state)], 10'000);
}

}  // namespace
}  // namespace endgate::daemon::modbus
