#include "daemon/exchange/row_reader.h"

#include <algorithm>
#include <charconv>
#include <chrono>
#include <cmath>

#include "daemon/definitions/date.h"

namespace endgate::daemon {
namespace {

constexpr std::string_view kFormulaStarts = "=+-@\t\r";
constexpr std::int64_t kMostCount = 1000000;

std::string trimmed(const std::string& text) {
  const auto first = text.find_first_not_of(' ');
  if (first == std::string::npos) return "";
  return text.substr(first, text.find_last_not_of(' ') - first + 1);
}

bool is_control(char c) {
  const auto byte = static_cast<unsigned char>(c);
  return byte < 0x20 || byte == 0x7F;
}

// As it was before our CSV made sure that it is no formula (daemon/queries/csv.h).
std::string unguarded(const std::string& text) {
  const bool guarded =
      text.size() > 1 && text[0] == '\'' && kFormulaStarts.find(text[1]) != std::string_view::npos;
  return guarded ? text.substr(1) : text;
}

template <class Number>
std::optional<Number> whole(std::string_view text) {
  Number value{};
  const char* const end = text.data() + text.size();
  const std::from_chars_result read = std::from_chars(text.data(), end, value);
  return read.ec == std::errc() && read.ptr == end ? std::optional(value) : std::nullopt;
}

std::optional<std::int64_t> digits(std::string_view text, std::int64_t below) {
  if (text.empty() || !std::ranges::all_of(text, [](char c) { return c >= '0' && c <= '9'; }))
    return std::nullopt;
  const auto value = whole<std::int64_t>(text);
  return value && *value < below ? value : std::nullopt;
}

// "10:42", "10:42:00", "10:42:00.123"
std::optional<std::int64_t> ms_of_day(std::string_view text) {
  if ((text.size() != 5 && text.size() != 8 && text.size() != 12) || text[2] != ':')
    return std::nullopt;
  const auto hour = digits(text.substr(0, 2), 24), minute = digits(text.substr(3, 2), 60);
  std::optional<std::int64_t> second = 0, ms = 0;
  if (text.size() > 5) second = text[5] == ':' ? digits(text.substr(6, 2), 60) : std::nullopt;
  if (text.size() > 8) ms = text[8] == '.' ? digits(text.substr(9, 3), 1000) : std::nullopt;
  if (!hour || !minute || !second || !ms) return std::nullopt;
  return ((*hour * 60 + *minute) * 60 + *second) * 1000 + *ms;
}

std::optional<std::int64_t> instant_of(std::string_view text) {
  const auto day = date_of(text.substr(0, 10));
  if (!day) return std::nullopt;
  const std::int64_t begins =
      std::chrono::duration_cast<std::chrono::milliseconds>(day->time_since_epoch()).count();
  if (text.size() == 10) return begins;
  if (text[10] != 'T' || !text.ends_with('Z')) return std::nullopt;
  const auto of_day = ms_of_day(text.substr(11, text.size() - 12));
  return of_day ? std::optional(begins + *of_day) : std::nullopt;
}

std::string list_of(std::span<const std::string_view> words) {
  std::string all;
  for (const std::string_view word : words) all += (all.empty() ? "" : ", ") + std::string(word);
  return all;
}

}  // namespace

void RowReader::complain(std::string_view column, const std::string& found,
                         const std::string& expected) {
  faults_.push_back({row_.line, std::string(column), found, expected});
}

std::string RowReader::text(std::string_view column, std::size_t most) {
  const Cell& cell = row_.at(column);
  if (cell.kind == Cell::Kind::missing) return "";
  if (cell.kind == Cell::Kind::number || cell.kind == Cell::Kind::other)
    return complain(column, cell.written, "a text, in quotes"), "";
  if (std::ranges::any_of(cell.written, is_control))
    return complain(column, "a line break or another control character", "one line of text"), "";
  const std::string text =
      trimmed(cell.kind == Cell::Kind::plain ? unguarded(cell.written) : cell.written);
  if (text.size() > most)
    return complain(column, text, "at most " + std::to_string(most) + " bytes"), "";
  return text;
}

std::string RowReader::needed(std::string_view column) {
  const std::size_t before = faults_.size();
  std::string said = text(column);
  if (said.empty() && faults_.size() == before) complain(column, "nothing", "a text");
  return said;
}

std::string RowReader::word(std::string_view column, std::span<const std::string_view> words) {
  std::string said = text(column);
  if (!said.empty() && std::ranges::find(words, said) == words.end())
    complain(column, "\"" + said + "\"", list_of(words) + ", or nothing");
  return said;
}

std::optional<double> RowReader::number(std::string_view column) {
  const Cell& cell = row_.at(column);
  const std::string written = trimmed(cell.written);
  if (cell.kind == Cell::Kind::missing || (cell.kind == Cell::Kind::plain && written.empty()))
    return std::nullopt;
  const auto value = whole<double>(written);
  const bool is_number = cell.kind == Cell::Kind::plain || cell.kind == Cell::Kind::number;
  if (is_number && value && std::isfinite(*value)) return value;
  complain(column, "\"" + cell.written + "\"",
           "a number with a decimal point, such as 54.6, or nothing");
  return std::nullopt;
}

std::optional<double> RowReader::number_from_0(std::string_view column) {
  const auto value = number(column);
  if (!value || *value >= 0) return value;
  complain(column, row_.at(column).written, "a number from 0 on, or nothing");
  return std::nullopt;
}

std::optional<std::int64_t> RowReader::count(std::string_view column) {
  const Cell& cell = row_.at(column);
  if (cell.kind == Cell::Kind::missing) return std::nullopt;
  const auto value = digits(cell.written, kMostCount);
  const bool is_number = cell.kind == Cell::Kind::plain || cell.kind == Cell::Kind::number;
  if (is_number && value && *value > 0) return value;
  complain(column, "\"" + cell.written + "\"", "a whole number from 1 on, or nothing");
  return std::nullopt;
}

std::optional<std::int64_t> RowReader::utc_ms(std::string_view column) {
  const std::size_t before = faults_.size();
  const std::string written = text(column);
  const auto instant = instant_of(written);
  if (!instant && faults_.size() == before)
    complain(column, written.empty() ? "nothing" : "\"" + written + "\"",
             "a day or an instant in UTC, such as 2019-06-08 or 2019-06-08T10:42:00Z");
  return instant;
}

}  // namespace endgate::daemon
