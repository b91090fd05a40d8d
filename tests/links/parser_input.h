// Any bytes, given to one of the parsers that read what devices say: the first byte chooses parser
// and request, the second how many bytes come at a time, the rest is what arrives.  Shared by the
// kept corpus with its mutations and by the fuzz target.

#pragma once

#include <algorithm>
#include <cstdlib>
#include <span>
#include <sstream>

#include "daemon/links/modbus_pdu.h"
#include "daemon/links/recorded_run.h"
#include "daemon/links/sample_block.h"
#include "daemon/links/scpi_dialogue.h"

namespace endgate::tests {

using ByteView = std::span<const std::uint8_t>;

inline void expect_or_stop(bool holds) {
  if (!holds) std::abort();  // in a fuzzer and in a test alike
}

template <class Feed>
void feed_in_pieces(ByteView bytes, std::size_t piece, Feed feed) {
  for (std::size_t at = 0; at < bytes.size(); at += piece)
    if (!feed(bytes.subspan(at, std::min(piece, bytes.size() - at)))) return;
}

inline void read_as_modbus(ByteView bytes, std::size_t piece, int choice) {
  using namespace daemon::modbus;
  constexpr std::uint8_t kFunctions[] = {3, 4, 1, 2, 5, 6, 16, 22};
  Request request{0x0102, 0x11, kFunctions[choice >> 1 & 7], 0x006b, 3, {1, 2}};
  AnswerParser parser(request, choice % 2 == 0 ? Framing::tcp : Framing::rtu);
  feed_in_pieces(bytes, piece, [&](ByteView part) {
    return parser.feed(part) == AnswerParser::State::needs_more;
  });
  using State = AnswerParser::State;
  expect_or_stop((parser.state() == State::garbled) == !parser.fault().empty());
  if (parser.state() == State::done && request.function <= 4)
    expect_or_stop(parser.words().size() == 3);
}

inline void read_as_scpi(ByteView bytes, std::size_t piece, int choice) {
  using daemon::Dialogue;
  daemon::ScpiTalk talk;
  talk.queries = {{"MEAS:VOLT?", "VOLT {number} V"}, {"MEAS:CURR?", "*,{number},*"}};
  talk.commands = {"VOLT {value}"};
  talk.join = choice % 2 == 0;
  daemon::ScpiDialogue dialogue(talk);
  const auto sent = (choice & 2) != 0 ? dialogue.ask({4, 0, 8}) : dialogue.greet();
  expect_or_stop(!sent.empty());
  feed_in_pieces(bytes, piece, [&](ByteView part) {
    const Dialogue::State state = dialogue.feed(part);
    if (state == Dialogue::State::say_more) expect_or_stop(!dialogue.more().empty());
    return state == Dialogue::State::needs_more || state == Dialogue::State::say_more;
  });
  expect_or_stop(dialogue.words().size() <= 8);
}

inline void read_as_blocks(ByteView bytes, std::size_t piece) {
  daemon::SampleBlockParser parser;
  std::vector<std::shared_ptr<const daemon::SampleBlock>> blocks;
  bool good = true;
  feed_in_pieces(bytes, piece, [&](ByteView part) { return good = parser.feed(part, blocks); });
  expect_or_stop(good == parser.fault().empty());
  for (const auto& block : blocks)
    for (const auto& column : block->columns)
      expect_or_stop(column.raw.size() == block->samples() && block->samples() > 0);
}

// Looked through, then played with a motor that is switched now and then.
inline void read_as_recorded_run(ByteView bytes) {
  auto file = std::make_unique<std::istringstream>(std::string(bytes.begin(), bytes.end()));
  daemon::RecordedRun run(std::move(file), {"flow", "discharge_pressure"}, {"motor_relay"});
  while (!run.look_through(3)) {
  }
  for (int i = 0; i < 40 && run.fault().empty(); ++i) {
    run.play(1000 * i);
    if (i % 10 == 5) run.command(0, i % 20 == 5 ? 1 : 0);
    if (run.fault().empty()) expect_or_stop(run.recorded_us() <= 1'000'000'000'000'000);
  }
}

inline void read_by_a_parser(ByteView input) {
  if (input.size() < 2) return;
  const std::size_t piece = input[1] % 64 + 1u;
  const ByteView bytes = input.subspan(2);
  const int choice = input[0] >> 2;
  switch (input[0] & 3) {
    case 0:
    case 1:
      return read_as_modbus(bytes, piece, choice);
    case 2:
      return read_as_scpi(bytes, piece, choice);
    default:
      return (choice & 32) != 0 ? read_as_recorded_run(bytes) : read_as_blocks(bytes, piece);
  }
}

}  // namespace endgate::tests
