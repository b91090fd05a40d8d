// Any bytes, given to the parsers that read what devices say: the first byte chooses what was asked,
// the second how many bytes come at a time, the rest is what arrives.  Shared by the kept corpus with
// its mutations and by the fuzz targets (tests/fuzz).

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

// What was asked, how it comes, what comes.
struct ParserInput {
  int choice = 0;
  std::size_t piece = 1;
  ByteView bytes;
};
inline ParserInput parser_input(ByteView input) {
  if (input.size() < 2) return {};
  return {input[0], input[1] % 64 + 1u, input.subspan(2)};
}

inline void read_as_modbus(const ParserInput& input, daemon::modbus::Framing framing) {
  using namespace daemon::modbus;
  constexpr std::uint8_t kFunctions[] = {3, 4, 1, 2, 5, 6, 16, 22};
  Request request{0x0102, 0x11, kFunctions[input.choice & 7], 0x006b, 3, {1, 2}};
  AnswerParser parser(request, framing);
  feed_in_pieces(input.bytes, input.piece, [&](ByteView part) {
    return parser.feed(part) == AnswerParser::State::needs_more;
  });
  using State = AnswerParser::State;
  expect_or_stop((parser.state() == State::garbled) == !parser.fault().empty());
  if (parser.state() == State::done && request.function <= 4)
    expect_or_stop(parser.words().size() == 3);
}
inline void read_as_modbus_tcp(ByteView input) {
  read_as_modbus(parser_input(input), daemon::modbus::Framing::tcp);
}
inline void read_as_modbus_rtu(ByteView input) {
  read_as_modbus(parser_input(input), daemon::modbus::Framing::rtu);
}

// Queries one by one or joined, the greeting, a command with and without an error query.
inline void read_as_scpi(ByteView given) {
  using daemon::Dialogue;
  const ParserInput input = parser_input(given);
  daemon::ScpiTalk talk;
  talk.queries = {{"MEAS:VOLT?", "VOLT {number} V"}, {"MEAS:CURR?", "*,{number},*"}};
  talk.commands = {"VOLT {value}"};
  talk.join = input.choice % 2 == 0;
  if ((input.choice & 8) != 0) talk.error_query.clear();
  daemon::ScpiDialogue dialogue(talk);
  const auto sent = (input.choice & 4) != 0   ? dialogue.tell({0, daemon::words_of_number(13.5)})
                    : (input.choice & 2) != 0 ? dialogue.ask({4, 0, 8})
                                              : dialogue.greet();
  expect_or_stop(!sent.empty());
  feed_in_pieces(input.bytes, input.piece, [&](ByteView part) {
    const Dialogue::State state = dialogue.feed(part);
    if (state == Dialogue::State::say_more) expect_or_stop(!dialogue.more().empty());
    return state == Dialogue::State::needs_more || state == Dialogue::State::say_more;
  });
  expect_or_stop(dialogue.words().size() <= 8);
}

inline void read_as_blocks(ByteView given) {
  const ParserInput input = parser_input(given);
  daemon::SampleBlockParser parser;
  std::vector<std::shared_ptr<const daemon::SampleBlock>> blocks;
  bool good = true;
  feed_in_pieces(input.bytes, input.piece,
                 [&](ByteView part) { return good = parser.feed(part, blocks); });
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

struct NamedParser {
  const char* corpus;  // folder below tests/fuzz/corpus
  void (*read)(ByteView);
};
inline constexpr NamedParser kParsersOfLinks[] = {{"modbus_tcp", read_as_modbus_tcp},
                                                  {"modbus_rtu", read_as_modbus_rtu},
                                                  {"scpi", read_as_scpi},
                                                  {"sample_blocks", read_as_blocks},
                                                  {"recorded_run", read_as_recorded_run}};

}  // namespace endgate::tests
