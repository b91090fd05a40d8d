#include "daemon/service/target.h"

#include <algorithm>
#include <charconv>

namespace endgate::daemon {
namespace {

std::optional<std::string> decoded(std::string_view text, bool plus_is_space) {
  std::string out;
  for (std::size_t i = 0; i < text.size(); ++i) {
    if (text[i] == '+' && plus_is_space) {
      out += ' ';
    } else if (text[i] != '%') {
      out += text[i];
    } else {
      unsigned value = 0;
      if (i + 2 >= text.size()) return std::nullopt;
      const auto read = std::from_chars(text.data() + i + 1, text.data() + i + 3, value, 16);
      if (read.ptr != text.data() + i + 3) return std::nullopt;
      out += static_cast<char>(value);
      i += 2;
    }
  }
  if (!is_plain_text(out)) return std::nullopt;
  return out;
}

bool safe_segment(const std::string& segment) {
  return segment != "." && segment != ".." && segment.find('/') == std::string::npos &&
         segment.find('\\') == std::string::npos;
}

// Calls `take` for each piece between separators; false as soon as one is refused.
template <class Take>
bool for_each_piece(std::string_view text, char separator, const Take& take) {
  for (;;) {  // clang 14 cannot split by the library's views
    const std::size_t end = std::min(text.find(separator), text.size());
    if (!take(text.substr(0, end))) return false;
    if (end == text.size()) return true;
    text.remove_prefix(end + 1);
  }
}

bool read_path(std::string_view text, Target& into) {
  if (text.empty() || text.front() != '/') return false;
  text.remove_prefix(1);
  if (text.empty()) return true;
  return for_each_piece(text, '/', [&](std::string_view piece) {
    const auto segment = decoded(piece, false);
    if (!segment || !safe_segment(*segment)) return false;
    into.path.push_back(*segment);
    return true;
  });
}

bool read_query(std::string_view text, Target& into) {
  if (text.empty()) return true;
  return for_each_piece(text, '&', [&](std::string_view piece) {
    const std::size_t equals = std::min(piece.find('='), piece.size());
    const auto name = decoded(piece.substr(0, equals), true);
    const auto value = decoded(piece.substr(std::min(equals + 1, piece.size())), true);
    if (!name || !value) return false;
    into.query.emplace(*name, *value);
    return true;
  });
}

// Length of the well-formed UTF-8 sequence at the front, 0 when there is none.
std::size_t sequence_length(std::string_view text) {
  const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[i]); };
  const unsigned char lead = byte(0);
  if (lead < 0x80) return 1;
  const std::size_t length = lead >= 0xF0 ? 4 : lead >= 0xE0 ? 3 : 2;
  if (lead < 0xC2 || lead > 0xF4 || text.size() < length) return 0;
  for (std::size_t i = 1; i < length; ++i)
    if ((byte(i) & 0xC0) != 0x80) return 0;
  const bool overlong = (lead == 0xE0 && byte(1) < 0xA0) || (lead == 0xF0 && byte(1) < 0x90);
  const bool outside = (lead == 0xED && byte(1) > 0x9F) || (lead == 0xF4 && byte(1) > 0x8F);
  return overlong || outside ? 0 : length;
}

}  // namespace

std::optional<Target> parse_target(std::string_view target) {
  Target result;
  const std::size_t mark = std::min(target.find('?'), target.size());
  if (!read_path(target.substr(0, mark), result)) return std::nullopt;
  if (!read_query(target.substr(std::min(mark + 1, target.size())), result)) return std::nullopt;
  return result;
}

bool is_plain_text(std::string_view text) {
  while (!text.empty()) {
    const auto lead = static_cast<unsigned char>(text.front());
    const std::size_t length = sequence_length(text);
    if (length == 0 || lead < 0x20 || lead == 0x7F) return false;
    if (lead == 0xC2 && static_cast<unsigned char>(text[1]) < 0xA0) return false;  // C1 controls
    text.remove_prefix(length);
  }
  return true;
}

}  // namespace endgate::daemon
