#include "daemon/links/scpi_dialogue.h"

#include <array>
#include <bit>
#include <cassert>
#include <charconv>
#include <utility>

#include "daemon/links/scpi_answer.h"

namespace endgate::daemon {
namespace {

constexpr std::string_view kValue = "{value}";
constexpr std::size_t kShownOfAnswer = 60;

Dialogue::Bytes bytes_of(std::string_view text) { return {text.begin(), text.end()}; }

std::string text_of_number(double number) {
  std::array<char, 32> text;
  const auto [end, error] = std::to_chars(text.data(), text.data() + text.size(), number);
  assert(error == std::errc{});
  return {text.data(), end};
}

std::string with_value(std::string command, double value) {
  const std::size_t at = command.find(kValue);
  return at == std::string::npos ? command
                                 : command.replace(at, kValue.size(), text_of_number(value));
}

// Behind a `;` a header goes on from the one before unless it starts at the root.
std::string at_root(const std::string& query) {
  return query.starts_with('*') || query.starts_with(':') ? query : ":" + query;
}

// What an instrument said, fit for a sentence.
std::string shown(std::string_view answer) {
  std::string text(answer.substr(0, kShownOfAnswer));
  for (char& each : text)
    if (each < ' ' || each > '~') each = '?';
  return text;
}

}  // namespace

std::vector<std::uint16_t> words_of_number(double number) {
  const auto bits = std::bit_cast<std::uint64_t>(number);
  std::vector<std::uint16_t> words;
  for (int shift = 48; shift >= 0; shift -= 16)
    words.push_back(static_cast<std::uint16_t>(bits >> shift & 0xffff));
  return words;
}

double number_of_words(std::span<const std::uint16_t> words) {
  std::uint64_t bits = 0;
  for (const std::uint16_t word : words.first(kWordsOfNumber)) bits = bits << 16 | word;
  return std::bit_cast<double>(bits);
}

std::string ScpiDialogue::line(std::string_view text) const {
  return std::string(text) + talk_.terminator;
}

void ScpiDialogue::begin(Awaited awaited) {
  awaited_ = awaited;
  received_.clear();
  words_.clear();
  text_.clear();
  exception_ = errors_ = 0;
}

// The loader gave the addresses: spans lie on whole queries.
Dialogue::Bytes ScpiDialogue::ask(const RegisterSpan& span) {
  begin(Awaited::numbers);
  query_ = span.address / kWordsOfNumber;
  end_ = query_ + span.count / kWordsOfNumber;
  assert(query_ < end_ && end_ <= talk_.queries.size());
  return bytes_of(queries_from(query_));
}

std::string ScpiDialogue::queries_from(std::size_t first) const {
  if (!talk_.join) return line(talk_.queries[first].text);
  std::string message = talk_.queries[first].text;
  for (std::size_t i = first + 1; i < end_; ++i) message += ";" + at_root(talk_.queries[i].text);
  return line(message);
}

Dialogue::Bytes ScpiDialogue::tell(const RegisterWrite& write) {
  assert(write.address < talk_.commands.size() && write.values.size() == kWordsOfNumber);
  return confirmed(line(with_value(talk_.commands[write.address], number_of_words(write.values))));
}

Dialogue::Bytes ScpiDialogue::greet() {
  std::string message;
  for (const std::string& command : talk_.on_open) message += line(command);
  return confirmed(std::move(message));
}

Dialogue::Bytes ScpiDialogue::confirmed(std::string message) {
  const bool has_error_query = !talk_.error_query.empty();
  begin(has_error_query ? Awaited::errors : Awaited::completion);
  return bytes_of(message + line(has_error_query ? talk_.error_query : "*OPC?"));
}

Dialogue::State ScpiDialogue::feed(std::span<const std::uint8_t> bytes) {
  if (received_.size() + bytes.size() > kLongestAnswer) return garbled("an answer without end");
  received_.append(bytes.begin(), bytes.end());
  const std::size_t end = received_.find('\n');
  if (end == std::string::npos) return State::needs_more;
  if (end + 1 != received_.size()) return garbled("bytes after the answer");
  const std::string answer = std::exchange(received_, {});
  return judge(without_blanks(answer));
}

Dialogue::State ScpiDialogue::judge(std::string_view answer) {
  switch (awaited_) {
    case Awaited::numbers:
      return take_numbers(answer);
    case Awaited::errors:
      return take_error(answer);
    case Awaited::completion:
      break;
  }
  return answer == "1" ? State::done : garbled("*OPC? was not answered by 1", answer);
}

Dialogue::State ScpiDialogue::take_numbers(std::string_view answer) {
  const std::size_t last = talk_.join ? end_ : query_ + 1;
  for (; query_ < last; ++query_) {
    const bool is_last = query_ + 1 == last;
    const std::size_t semicolon = is_last ? std::string_view::npos : answer.find(';');
    const auto number = number_in(answer.substr(0, semicolon), talk_.queries[query_].answer);
    if (!number || (!is_last && semicolon == std::string_view::npos))
      return garbled(talk_.queries[query_].text + " has no number as expected", answer);
    const auto words = words_of_number(*number);
    words_.insert(words_.end(), words.begin(), words.end());
    if (!is_last) answer.remove_prefix(semicolon + 1);
  }
  if (query_ == end_) return State::done;
  next_ = bytes_of(queries_from(query_));
  return State::say_more;
}

Dialogue::State ScpiDialogue::take_error(std::string_view answer) {
  const auto number = error_number_in(answer);
  if (!number) return garbled(talk_.error_query + " has no error number", answer);
  if (*number == 0) return exception_ == 0 ? State::done : State::refused;
  if (exception_ == 0) {
    exception_ = *number;
    text_ = "says " + shown(answer);
  }
  if (++errors_ == kMostErrors) return garbled("an error queue without end", answer);
  next_ = bytes_of(line(talk_.error_query));
  return State::say_more;
}

Dialogue::State ScpiDialogue::garbled(const std::string& what, std::string_view answer) {
  text_ = what + (answer.empty() ? std::string() : ": \"" + shown(answer) + "\"");
  return State::garbled;
}

}  // namespace endgate::daemon
