#include "daemon/links/scpi_link.h"

#include <gmock/gmock.h>

#include <cmath>

#include "tests/links/link_test.h"
#include "tests/support/scripted_line_peer.h"
#include "tests/support/scripted_serial_peer.h"

namespace endgate::daemon {
namespace {

using namespace std::chrono_literals;
using ::testing::Contains;
using ::testing::ElementsAre;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::Not;

ScpiSettings supply_settings() {
  ScpiSettings settings;
  settings.device = "supply";
  settings.talk.queries = {{"MEAS:VOLT?"}, {"MEAS:CURR?", "CURR {number} A"}};
  settings.talk.commands = {"VOLT {value}", "OUTP {value}"};
  settings.reconnect_first = 5ms;
  return settings;
}

double number(const ReadAnswer& answer, std::size_t index) {
  const auto& words = answer.spans.at(0).words;
  return number_of_words(std::span(words).subspan(4 * index, 4));
}

class ScpiLinkTest : public LinkTest {
 protected:
  tests::ScriptedLinePeer peer{io};
  ScpiSettings settings = supply_settings();

  void SetUp() override {
    peer.answer = [](const std::string& line) -> std::string {
      if (line == "MEAS:VOLT?") return "+1.35E+01";
      if (line == "MEAS:CURR?") return "CURR 4.25 A";
      if (line == "MEAS:VOLT?;:MEAS:CURR?") return "13.5;CURR 4.25 A";
      return "";
    };
  }
  void open_link() {
    open(make_scpi_tcp_link(io.get_executor(), settings, "127.0.0.1", peer.port()));
    until_open();
  }
};

TEST_F(ScpiLinkTest, AsksOneQueryAfterTheOther) {
  open_link();
  const ReadAnswer answer = read({{4, 0, 8}});
  EXPECT_EQ(number(answer, 0), 13.5);
  EXPECT_EQ(number(answer, 1), 4.25);
  EXPECT_THAT(peer.heard, ElementsAre("SYST:ERR?", "MEAS:VOLT?", "MEAS:CURR?"));
}

TEST_F(ScpiLinkTest, JoinsQueriesWhereTheInstrumentCan) {
  settings.talk.join = true;
  open_link();
  EXPECT_EQ(number(read({{4, 0, 8}}), 1), 4.25);
  EXPECT_THAT(peer.heard, ElementsAre("SYST:ERR?", "MEAS:VOLT?;:MEAS:CURR?"));
}

TEST_F(ScpiLinkTest, FollowsACommandByTheErrorQuery) {
  open_link();
  EXPECT_FALSE(write({0, words_of_number(13.5)}));
  EXPECT_THAT(peer.heard, ElementsAre("SYST:ERR?", "VOLT 13.5", "SYST:ERR?"));
}

TEST_F(ScpiLinkTest, RefusesACommandWithTheInstrumentsOwnWordsAndEmptiesItsQueue) {
  open_link();
  peer.errors = {"-222,\"Data out of range\"", "-350,\"Queue overflow\""};
  const auto error = write({0, words_of_number(99)});
  EXPECT_EQ(error.value().kind, LinkError::Kind::refused);
  EXPECT_EQ(error->exception, -222);
  EXPECT_THAT(error->text, HasSubstr("supply says -222,\"Data out of range\""));
  EXPECT_THAT(peer.errors, IsEmpty());
  EXPECT_TRUE(link->is_open());
  EXPECT_FALSE(write({1, words_of_number(0)}));
}

TEST_F(ScpiLinkTest, SendsNoQueuedOnBehindAnUrgentOff) {
  open_link();
  int done = 0;
  const auto count = [&](const std::optional<LinkError>&) { ++done; };
  link->write({0, words_of_number(12)}, Link::Urgency::in_turn, count);
  link->write({1, words_of_number(1)}, Link::Urgency::in_turn, count);
  link->write({1, words_of_number(0)}, Link::Urgency::at_once, count);
  until([&] { return done == 3; });
  EXPECT_THAT(peer.heard, Contains("OUTP 0"));
  EXPECT_THAT(peer.heard, Not(Contains("OUTP 1")));
}

TEST_F(ScpiLinkTest, AsksForCompletionWhereThereIsNoErrorQuery) {
  settings.talk.error_query = "";
  settings.talk.on_open = {"*CLS"};
  peer.answer = [](const std::string& line) { return line == "*OPC?" ? "1" : ""; };
  open_link();
  EXPECT_FALSE(write({1, words_of_number(1)}));
  EXPECT_THAT(peer.heard, ElementsAre("*CLS", "*OPC?", "OUTP 1", "*OPC?"));
}

TEST_F(ScpiLinkTest, ClosesOnALateAnswerAndNeverTakesItForAFreshOne) {
  peer.delay = [this](const std::string& line) {
    return line == "MEAS:VOLT?" && peer.connections == 1 ? 60ms : 0ms;
  };
  settings.transaction_deadline = 30ms;
  open_link();
  EXPECT_EQ(read({{4, 0, 4}}).error.value().kind, LinkError::Kind::silent);
  until_open();
  for (int i = 0; i < 10; ++i) EXPECT_EQ(number(read({{4, 4, 4}}), 0), 4.25);
}

TEST_F(ScpiLinkTest, ClosesOnAnAnswerThatDoesNotFit) {
  peer.answer = [](const std::string&) { return "VOLT?"; };
  open_link();
  const ReadAnswer answer = read({{4, 0, 4}});
  EXPECT_EQ(answer.error.value().kind, LinkError::Kind::garbled);
  EXPECT_THAT(answer.error->text, HasSubstr("MEAS:VOLT? has no number as expected: \"VOLT?\""));
}

TEST_F(ScpiLinkTest, ClosesOnTwoAnswersToOneQuery) {
  peer.answer = [](const std::string&) { return "1\n2"; };
  open_link();
  EXPECT_EQ(read({{4, 0, 4}}).error.value().kind, LinkError::Kind::garbled);
}

TEST_F(ScpiLinkTest, TellsWhatTheInstrumentDidNotUnderstand) {
  settings.transaction_deadline = 30ms;
  peer.answer = [this](const std::string& line) -> std::string {
    if (line != "SYST:ERR?") peer.errors = {"-113,\"Undefined header\""};
    return "";
  };
  open_link();
  read({{4, 0, 4}});
  until_open();
  EXPECT_THAT(read({{4, 0, 4}}).error.value().text, HasSubstr("-113,\"Undefined header\""));
}

TEST_F(ScpiLinkTest, GivesUpOnAnErrorQueueWithoutEnd) {
  peer.errors.resize(1000, "-100,\"Command error\"");
  open(make_scpi_tcp_link(io.get_executor(), settings, "127.0.0.1", peer.port()));
  until([this] { return !losses.empty(); });
  EXPECT_EQ(losses.at(0).kind, LinkError::Kind::garbled);
}

TEST_F(ScpiLinkTest, GivesUpOnAnAnswerWithoutEnd) {
  peer.answer = [](const std::string&) { return std::string(100'000, '1'); };
  open_link();
  EXPECT_EQ(read({{4, 0, 4}}).error.value().kind, LinkError::Kind::garbled);
}

TEST_F(ScpiLinkTest, HoldsTheNumberThatIsNoMeasurementForNone) {
  peer.answer = [](const std::string&) { return "9.91E+37"; };
  open_link();
  EXPECT_TRUE(std::isnan(number(read({{4, 0, 4}}), 0)));
}

TEST_F(ScpiLinkTest, SpeaksOverASerialLineToo) {
  tests::ScriptedSerialPeer serial(io);
  serial.answer = [](const auto& line) {
    const std::string text(line.begin(), line.end());
    const std::string said = text == "MEAS:VOLT?\n" ? "12.5\r\n" : "0,\"No error\"\r\n";
    return std::vector<std::uint8_t>(said.begin(), said.end());
  };
  SerialSettings line{.path = serial.path(), .baud = 9600, .parity = Parity::none};
  line.resync_silence = 5ms;
  open(make_scpi_serial_link(io.get_executor(), settings, line));
  until_open();
  EXPECT_EQ(number(read({{4, 0, 4}}), 0), 12.5);
}

}  // namespace
}  // namespace endgate::daemon
