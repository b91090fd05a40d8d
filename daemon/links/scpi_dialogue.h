// Query-and-answer instruments in the form of IEEE 488.2 and SCPI, as registers.
//
//   query k     four input registers from 4 k: its number as a double, high word first
//   command k   address k takes such a double, which replaces `{value}` in the command's text
//
//   a line ends with the terminator when sent, with a line feed when received
//   queries of one span go out one by one, or joined by `;` when the instrument can (`join`)
//   a command is followed by the error query, which is repeated until it answers 0: any other
//   number refuses the command.  Without error query `*OPC?` must answer 1
//   a connection begins with the `on_open` commands and an emptied error queue
//
// An answer carries no number of its query: one that is late, does not fit its pattern or brings
// bytes behind it closes the link.  Answers longer than kLongestAnswer are garbage.

#pragma once

#include <optional>
#include <string>
#include <vector>

#include "daemon/links/dialogue.h"

namespace endgate::daemon {

struct ScpiQuery {
  std::string text;                 // "MEAS:VOLT?"
  std::string answer = "{number}";  // scpi_answer.h
};

struct ScpiTalk {
  std::vector<ScpiQuery> queries;
  std::vector<std::string> commands;  // "VOLT {value}"
  std::vector<std::string> on_open;
  std::string terminator = "\n";
  std::string error_query = "SYST:ERR?";  // empty: none
  bool join = false;
};

class ScpiDialogue final : public Dialogue {
 public:
  static constexpr std::size_t kLongestAnswer = 4096;
  static constexpr int kMostErrors = 32;  // read from a queue that never empties

  explicit ScpiDialogue(ScpiTalk talk) : talk_(std::move(talk)) {}

  Bytes ask(const RegisterSpan& span) override;
  Bytes tell(const RegisterWrite& write) override;
  Bytes greet() override;
  State feed(std::span<const std::uint8_t> bytes) override;
  Bytes more() override { return std::move(next_); }
  [[nodiscard]] std::vector<std::uint16_t> words() const override { return words_; }
  [[nodiscard]] int exception() const override { return exception_; }
  [[nodiscard]] std::string text() const override { return text_; }

 private:
  enum class Awaited { numbers, errors, completion };

  void begin(Awaited awaited);
  Bytes confirmed(std::string message);
  [[nodiscard]] std::string line(std::string_view text) const;
  [[nodiscard]] std::string queries_from(std::size_t first) const;
  State judge(std::string_view answer);
  State take_numbers(std::string_view answer);
  State take_error(std::string_view answer);
  State garbled(const std::string& what, std::string_view answer = {});

  const ScpiTalk talk_;
  Awaited awaited_ = Awaited::numbers;
  std::size_t query_ = 0, end_ = 0;  // of the span under way
  std::string received_;
  Bytes next_;
  std::vector<std::uint16_t> words_;
  int exception_ = 0;
  int errors_ = 0;
  std::string text_;
};

// The registers of a number, and back.
[[nodiscard]] std::vector<std::uint16_t> words_of_number(double number);
[[nodiscard]] double number_of_words(std::span<const std::uint16_t> words);  // 4 of them

}  // namespace endgate::daemon
