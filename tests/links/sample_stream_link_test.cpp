#include "daemon/links/sample_stream_link.h"

#include <gmock/gmock.h>

#include <boost/asio/ip/tcp.hpp>
#include <boost/asio/write.hpp>

#include "tests/links/link_test.h"
#include "tests/links/made_block.h"

namespace endgate::daemon {
namespace {

using namespace std::chrono_literals;
using boost::asio::ip::tcp;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using tests::MadeBlock;

class SampleStreamLinkTest : public LinkTest {
 protected:
  tcp::acceptor acceptor{io, tcp::endpoint(boost::asio::ip::address_v4::loopback(), 0)};
  tcp::socket device{io};
  int connections = 0;
  MadeBlock next;

  void SetUp() override { accept(); }

  void accept() {
    acceptor.async_accept(device, [this](boost::system::error_code error) {
      if (!error) ++connections;
    });
  }

  void connect(std::chrono::milliseconds deadline = 500ms) {
    SampleStreamSettings settings;
    settings.device = "daq";
    settings.host = "127.0.0.1";
    settings.port = acceptor.local_endpoint().port();
    settings.transaction_deadline = deadline;
    settings.reconnect_first = 5ms;
    open(make_sample_stream_link(io.get_executor(), settings));
    until([this] { return connections == 1; });
  }

  void send(const MadeBlock& block) {
    boost::asio::write(device, boost::asio::buffer(block.bytes()));
  }
  void send_next() {
    send(next);
    ++next.sequence;
    next.first_us += 1000;
  }
};

TEST_F(SampleStreamLinkTest, IsOpenWhenTheFirstBlockHasCome) {
  connect();
  io.run_for(10ms);
  EXPECT_FALSE(link->is_open());
  send_next();
  until_open();
  EXPECT_EQ(openings, 1);
}

TEST_F(SampleStreamLinkTest, GivesEachBlockOnceAndSequenceAndTimeAsRegisters) {
  connect();
  for (int i = 0; i < 3; ++i) send_next();
  until_open();
  io.run_for(5ms);
  const ReadAnswer first = read({{4, 0, 4}});
  ASSERT_EQ(first.spans.at(0).blocks.size(), 3u);
  EXPECT_EQ(first.spans[0].blocks[2]->sequence, 3u);
  EXPECT_THAT(first.spans[0].words, ElementsAre(0, 3, 1'002'100 >> 16, 1'002'100 & 0xffff));
  EXPECT_EQ(read({{4, 0, 4}}).spans.at(0).blocks.size(), 0u);
}

TEST_F(SampleStreamLinkTest, TellsOfEachBlockWhenItComesAndBeforeAnybodyReads) {
  connect();
  send_next();
  send_next();
  until([this] { return told.size() == 2; });
  EXPECT_THAT(told, ElementsAre(1, 2));
  EXPECT_EQ(read({{4, 0, 4}}).spans.at(0).blocks.size(), 2u);
}

TEST_F(SampleStreamLinkTest, KeepsABoundedNumberOfBlocksThatNobodyReads) {
  connect();
  for (int i = 0; i < 400; ++i) send_next();
  until_open();
  io.run_for(20ms);
  const auto blocks = read({{4, 0, 4}}).spans.at(0).blocks;
  EXPECT_EQ(blocks.size(), SampleStreamSettings::kMostKept);
  EXPECT_EQ(blocks.back()->sequence, 400u) << "the oldest go";
}

TEST_F(SampleStreamLinkTest, ClosesOnABlockThatComesTwice) {
  connect();
  send_next();
  until_open();
  send(MadeBlock{});
  until([this] { return !losses.empty(); });
  EXPECT_EQ(losses[0].kind, LinkError::Kind::garbled);
  EXPECT_THAT(losses[0].text, HasSubstr("daq: a block out of its order"));
}

TEST_F(SampleStreamLinkTest, TakesASkippedBlockForAGap) {
  connect();
  send_next();
  next.sequence += 5;
  send_next();
  until_open();
  io.run_for(5ms);
  EXPECT_EQ(read({{4, 0, 4}}).spans.at(0).blocks.size(), 2u);
}

TEST_F(SampleStreamLinkTest, ClosesWhenTheStreamStopsAndStartsAfresh) {
  connect(40ms);
  send_next();
  until_open();
  device = tcp::socket(io);
  accept();
  until([this] { return connections == 2; });
  ASSERT_FALSE(losses.empty());
  next.sequence = 1;
  send_next();
  until_open();
}

TEST_F(SampleStreamLinkTest, CallsAStreamWithoutBlocksSilent) {
  connect(30ms);
  send_next();
  until_open();
  until([this] { return !losses.empty(); });
  EXPECT_EQ(losses[0].kind, LinkError::Kind::silent);
}

TEST_F(SampleStreamLinkTest, RefusesWrites) {
  connect();
  send_next();
  until_open();
  EXPECT_EQ(write({0, {1}}).value().kind, LinkError::Kind::refused);
}

}  // namespace
}  // namespace endgate::daemon
