#include "daemon/definitions/serial_overlap.h"

#include <bitset>
#include <charconv>
#include <cstddef>
#include <optional>
#include <set>
#include <utility>
#include <vector>

#include "daemon/definitions/serial_pattern.h"

namespace endgate::daemon {
namespace {

using Letters = std::bitset<128>;

// One place of a pattern: a set of characters, to be left out or to come again.
struct PatternPlace {
  Letters letters;
  bool may_miss = false, may_repeat = false;
};

void add_range(Letters& letters, char first, char last) {
  for (int c = first; c <= last && c >= 0; ++c) letters.set(static_cast<std::size_t>(c));
}

Letters all_letters() {
  Letters letters;
  add_range(letters, ' ', '~');
  return letters;
}

Letters escaped(char c) {
  Letters letters;
  if (c == 'd' || c == 'w') add_range(letters, '0', '9');
  if (c == 'w') {
    add_range(letters, 'a', 'z');
    add_range(letters, 'A', 'Z');
    add_range(letters, '_', '_');
  }
  if (letters.none()) add_range(letters, c, c);
  return letters;
}

// Reads a pattern place by place; nothing once it meets what it does not know.
class PatternReader {
 public:
  explicit PatternReader(const std::string& text) : text_(text) {}

  std::optional<std::vector<PatternPlace>> read() {
    while (known_ && at_ < text_.size()) add_repeated(one());
    return known_ ? std::optional(std::move(places_)) : std::nullopt;
  }

 private:
  char next() { return at_ < text_.size() ? text_[at_++] : '\0'; }
  [[nodiscard]] char peek() const { return at_ < text_.size() ? text_[at_] : '\0'; }

  Letters one() {
    const char c = next();
    if (c == '[') return one_of();
    if (c == '.') return all_letters();
    if (c == '\\') return escaped(next());
    if (std::string("()|^$*+?{").find(c) != std::string::npos) known_ = false;
    Letters letters;
    add_range(letters, c, c);
    return letters;
  }

  Letters one_of() {
    Letters letters;
    const bool others = peek() == '^';
    if (others) ++at_;
    while (at_ < text_.size() && peek() != ']') {
      const char first = next();
      if (first == '\\') {
        letters |= escaped(next());
        continue;
      }
      const bool is_range = peek() == '-' && at_ + 1 < text_.size() && text_[at_ + 1] != ']';
      if (is_range) ++at_;
      add_range(letters, first, is_range ? next() : first);
    }
    ++at_;
    return others ? all_letters() & ~letters : letters;
  }

  int number() {
    int value = 0;
    const char* const end = text_.data() + text_.size();
    const auto read = std::from_chars(text_.data() + at_, end, value);
    known_ = known_ && read.ec == std::errc() && value <= static_cast<int>(kLongestSerial);
    at_ = static_cast<std::size_t>(read.ptr - text_.data());
    return value;
  }

  // After `+` the place has come once and may come again: both are one place that repeats.
  void add_repeated(const Letters& letters) {
    const char sign = peek();
    if (sign != '?' && sign != '*' && sign != '+' && sign != '{')
      return places_.push_back({letters});
    ++at_;
    if (sign != '{') return places_.push_back({letters, sign != '+', sign != '?'});
    add_counted(letters);
  }

  void add_counted(const Letters& letters) {
    const int least = number();
    int most = least;
    const bool open = peek() == ',' && at_ + 1 < text_.size() && text_[at_ + 1] == '}';
    if (peek() == ',') ++at_;
    if (peek() != '}') most = number();
    if (next() != '}') known_ = false;
    if (!known_) return;
    for (int i = 0; i < most; ++i) places_.push_back({letters, i >= least, false});
    if (open) places_.push_back({letters, true, true});
  }

  const std::string& text_;
  std::size_t at_ = 0;
  bool known_ = true;
  std::vector<PatternPlace> places_;
};

// Walks both patterns at once, over every pair of places that one text can reach.
class Together {
 public:
  Together(const std::vector<PatternPlace>& a, const std::vector<PatternPlace>& b) : a_(a), b_(b) {}

  bool meet(std::size_t i, std::size_t j) {
    if (i == a_.size() && j == b_.size()) return true;
    if (!seen_.insert({i, j}).second) return false;
    if (i < a_.size() && a_[i].may_miss && meet(i + 1, j)) return true;
    if (j < b_.size() && b_[j].may_miss && meet(i, j + 1)) return true;
    if (i == a_.size() || j == b_.size() || (a_[i].letters & b_[j].letters).none()) return false;
    for (const std::size_t to_i : {i + 1, a_[i].may_repeat ? i : i + 1})
      for (const std::size_t to_j : {j + 1, b_[j].may_repeat ? j : j + 1})
        if (meet(to_i, to_j)) return true;
    return false;
  }

 private:
  const std::vector<PatternPlace>& a_;
  const std::vector<PatternPlace>& b_;
  std::set<std::pair<std::size_t, std::size_t>> seen_;
};

}  // namespace

bool patterns_overlap(const std::string& first, const std::string& second) {
  if (first == second) return true;
  const auto a = PatternReader(first).read();
  const auto b = PatternReader(second).read();
  return a && b && Together(*a, *b).meet(0, 0);
}

}  // namespace endgate::daemon
