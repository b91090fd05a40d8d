#include "daemon/service/head_scan.h"

#include <algorithm>

namespace endgate::daemon {
namespace {

HeadScan refused(int status, std::string_view sentence) {
  return {.state = HeadScan::State::refused, .status = status, .sentence = sentence};
}

bool is_control(char c) {
  const auto byte = static_cast<unsigned char>(c);
  return (byte < 0x20 && c != '\t' && c != '\r' && c != '\n') || byte == 0x7F;
}

// The request line is METHOD SP TARGET SP VERSION with nothing else.
std::string_view wrong_request_line(std::string_view line) {
  const std::size_t first = line.find(' ');
  if (first == 0 || first == std::string_view::npos) return "The request line is not complete.";
  const bool upper = std::all_of(line.begin(), line.begin() + static_cast<std::ptrdiff_t>(first),
                                 [](char c) { return c >= 'A' && c <= 'Z'; });
  if (!upper) return "A method is written in capital letters.";
  if (std::count(line.begin(), line.end(), ' ') != 2) return "The request line has stray spaces.";
  return {};
}

HeadScan judge_line(std::string_view line, bool first) {
  if (line.size() > kTargetLimit + 32 && first)
    return refused(414, "The address is longer than 2048 bytes.");
  if (first) {
    const std::string_view wrong = wrong_request_line(line);
    return wrong.empty() ? HeadScan{} : refused(400, wrong);
  }
  if (!line.empty() && (line.front() == ' ' || line.front() == '\t'))
    return refused(400, "A header line is folded. Send each header on one line.");
  return {};
}

HeadScan still_waiting(std::string_view bytes) {
  if (bytes.size() > kHeadLimit) return refused(431, "The header is longer than 8192 bytes.");
  return {};
}

}  // namespace

HeadScan scan_head(std::string_view bytes) {
  std::size_t line_start = 0;
  for (std::size_t i = 0; i < bytes.size(); ++i) {
    if (is_control(bytes[i])) return refused(400, "The header has a control character.");
    if (bytes[i] == '\r' && i + 1 < bytes.size() && bytes[i + 1] != '\n')
      return refused(400, "The header has a bare CR. Lines end with CR LF.");
    if (bytes[i] != '\n') continue;
    if (i == 0 || bytes[i - 1] != '\r')
      return refused(400, "The header has a bare LF. Lines end with CR LF.");
    if (i >= kHeadLimit) break;
    const std::string_view line = bytes.substr(line_start, i - 1 - line_start);
    if (line.empty() && line_start > 0)
      return {.state = HeadScan::State::complete, .length = i + 1};
    const HeadScan judged = judge_line(line, line_start == 0);
    if (judged.state == HeadScan::State::refused) return judged;
    line_start = i + 1;
  }
  return still_waiting(bytes);
}

}  // namespace endgate::daemon
