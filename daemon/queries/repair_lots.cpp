#include "daemon/queries/repair_lots.h"

#include <algorithm>
#include <string>

namespace endgate::daemon {

std::vector<schema::PartLot> lots_in(const schema::Repair& repair) {
  constexpr const char* kBetweenWords = " \t\n,;";
  std::vector<schema::PartLot> lots;
  const std::string& text = repair.parts;
  for (std::size_t from = text.find_first_not_of(kBetweenWords); from != std::string::npos;) {
    const std::size_t to = std::min(text.find_first_of(kBetweenWords, from), text.size());
    std::string word = text.substr(from, to - from);
    while (word.ends_with('.') || word.ends_with(')')) word.pop_back();  // the end of a sentence
    while (word.starts_with('(')) word.erase(0, 1);
    const std::size_t sign = word.find('=');
    if (sign != std::string::npos && sign > 0 && sign + 1 < word.size())
      lots.push_back({word.substr(0, sign), word.substr(sign + 1)});
    from = text.find_first_not_of(kBetweenWords, to);
  }
  return lots;
}

}  // namespace endgate::daemon
