// Bytes in, bytes out.  Layouts are those of the public MODBUS Application Protocol V1.1b3 (PDU)
// and MODBUS Messaging on TCP/IP V1.0b (MBAP header), from memory.

#include "tests/simbench_server/loopback_bench.h"

namespace simbench {
namespace {

using testing::ElementsAre;
using testing::IsEmpty;

struct FrameTest : testing::Test {
  Instruments instruments{InstrumentsOptions{}};

  Bytes exchange(const Bytes& bytes) {
    return answer(std::get<Request>(first_request(bytes)), instruments);
  }
  // The PDU of the answer.
  Bytes ask(const Bytes& pdu) {
    const Bytes reply = exchange(frame(0x1234, pdu));
    return {reply.begin() + 7, reply.end()};
  }
};

TEST_F(FrameTest, EchoesTransactionAndUnit) {
  EXPECT_THAT(exchange(frame(0xabcd, {3, 0, 105, 0, 1})),
              ElementsAre(0xab, 0xcd, 0, 0, 0, 5, 1, 3, 2, 0, 1));
}

TEST_F(FrameTest, ReadsHoldingRegistersHighByteFirst) {
  ASSERT_THAT(ask({6, 0, 103, 0x34, 0xbc}), ElementsAre(6, 0, 103, 0x34, 0xbc));
  EXPECT_THAT(ask({3, 0, 103, 0, 2}), ElementsAre(3, 4, 0x34, 0xbc, 0, 0));
}

TEST_F(FrameTest, WritesSeveralRegistersAndAnswersAddressAndCount) {
  EXPECT_THAT(ask({16, 0, 103, 0, 2, 4, 0x30, 0, 0x0f, 0xa0}), ElementsAre(16, 0, 103, 0, 2));
  EXPECT_THAT(ask({3, 0, 103, 0, 2}), ElementsAre(3, 4, 0x30, 0, 0x0f, 0xa0));
}

TEST_F(FrameTest, AnswersEveryOtherFunctionWithException1) {
  for (int function = 1; function < 128; ++function) {
    if (function == 3 || function == 4 || function == 6 || function == 16) continue;
    EXPECT_THAT(ask({static_cast<std::uint8_t>(function), 0, 0, 0, 1}),
                ElementsAre(function | 0x80, 1))
        << function;
  }
}

TEST_F(FrameTest, AnswersUnknownAddressesWithException2) {
  EXPECT_THAT(ask({3, 0, 99, 0, 1}), ElementsAre(0x83, 2));
  EXPECT_THAT(ask({4, 0, 21, 0, 2}), ElementsAre(0x84, 2));
  EXPECT_THAT(ask({6, 0, 3, 0, 1}), ElementsAre(0x86, 2));
  EXPECT_THAT(ask({16, 0, 111, 0, 2, 4, 0, 0, 0, 0}), ElementsAre(0x90, 2));
}

TEST_F(FrameTest, AnswersCountsThatDoNotFitWithException3) {
  EXPECT_THAT(ask({4, 0, 0, 0, 0}), ElementsAre(0x84, 3));
  EXPECT_THAT(ask({4, 0, 0, 0, 126}), ElementsAre(0x84, 3));
  EXPECT_THAT(ask({16, 0, 100, 0, 0, 0}), ElementsAre(0x90, 3));
  EXPECT_THAT(ask({16, 0, 100, 0, 1, 3, 0, 0, 0}), ElementsAre(0x90, 3));  // byte count
  EXPECT_THAT(ask({16, 0, 100, 0, 2, 4, 0, 0}), ElementsAre(0x90, 3));     // bytes missing
  EXPECT_THAT(ask({16, 0, 100, 1, 2, 4, 0, 0, 0, 0}), ElementsAre(0x90, 3));
}

TEST_F(FrameTest, AnswersRequestsOfTheWrongLengthWithException3) {
  for (const std::uint8_t function : Bytes{3, 4, 6}) {
    EXPECT_THAT(ask({function, 0, 100, 0}), ElementsAre(function | 0x80, 3));
    EXPECT_THAT(ask({function, 0, 100, 0, 1, 0}), ElementsAre(function | 0x80, 3));
    EXPECT_THAT(ask({function}), ElementsAre(function | 0x80, 3));
  }
  EXPECT_THAT(ask({16, 0, 100}), ElementsAre(0x90, 3));
}

TEST_F(FrameTest, AnswersWritesAgainstTheRulesWithException4) {
  EXPECT_THAT(ask({6, 0, 102, 0, 1}), ElementsAre(0x86, 4));
}

TEST_F(FrameTest, AnswersOtherUnitsWithException11) {
  EXPECT_THAT(exchange(frame(1, {3, 0, 100, 0, 1}, 2)), ElementsAre(0, 1, 0, 0, 0, 3, 2, 0x83, 11));
}

TEST_F(FrameTest, PassesOverAnotherProtocolInSilence) {
  Bytes bytes = frame(1, {3, 0, 100, 0, 1});
  bytes[3] = 1;
  EXPECT_THAT(exchange(bytes), IsEmpty());
}

TEST(FirstRequest, WaitsForTheWholeFrame) {
  const Bytes whole = frame(1, {3, 0, 100, 0, 1});
  for (std::size_t size = 0; size < whole.size(); ++size)
    EXPECT_TRUE(std::holds_alternative<NeedMore>(first_request(ByteView(whole).first(size))));
  EXPECT_EQ(std::get<Request>(first_request(whole)).size, whole.size());
}

TEST(FirstRequest, IsBrokenByALengthThatNoFrameHas) {
  for (const unsigned length : {0U, 1U, 255U, 256U, 65535U}) {
    Bytes bytes = frame(1, {3, 0, 100, 0, 1});
    bytes[4] = static_cast<std::uint8_t>(length >> 8U);
    bytes[5] = static_cast<std::uint8_t>(length & 0xffU);
    EXPECT_TRUE(std::holds_alternative<Broken>(first_request(bytes))) << length;
  }
}

TEST(FirstRequest, TakesTheLongestFrame) {
  const Bytes bytes = frame(1, Bytes(253, 16));
  EXPECT_EQ(std::get<Request>(first_request(bytes)).pdu.size(), 253U);
}

}  // namespace
}  // namespace simbench
