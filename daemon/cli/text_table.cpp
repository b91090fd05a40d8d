#include "daemon/cli/text_table.h"

#include <algorithm>

namespace endgate::daemon {
namespace {

std::size_t width_of(const std::string& word) {
  return static_cast<std::size_t>(std::ranges::count_if(
      word, [](char c) { return (static_cast<unsigned char>(c) & 0xC0U) != 0x80U; }));
}

std::vector<std::size_t> widths_of(const std::vector<TextRow>& rows) {
  std::vector<std::size_t> widths;
  for (const TextRow& row : rows) {
    widths.resize(std::max(widths.size(), row.size()));
    for (std::size_t i = 0; i < row.size(); ++i) widths[i] = std::max(widths[i], width_of(row[i]));
  }
  return widths;
}

}  // namespace

void write_table(const std::vector<TextRow>& rows, std::ostream& out) {
  const std::vector<std::size_t> widths = widths_of(rows);
  for (const TextRow& row : rows) {
    std::string line;
    for (std::size_t i = 0; i < row.size(); ++i) {
      line += row[i];
      line.append(widths[i] - width_of(row[i]) + 2, ' ');
    }
    out << line.substr(0, line.find_last_not_of(' ') + 1) << '\n';
  }
}

}  // namespace endgate::daemon
