#include "daemon/definitions/serial.h"

#include <algorithm>
#include <vector>

#include "daemon/definitions/serial_pattern.h"

namespace endgate::daemon {
namespace {

constexpr std::string_view kAlphabet = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ";

std::string trimmed_upper(std::string_view scanned) {
  constexpr std::string_view kBlank = " \t\r\n\v\f";
  const std::size_t first = scanned.find_first_not_of(kBlank);
  if (first == std::string_view::npos) return {};
  scanned = scanned.substr(first, scanned.find_last_not_of(kBlank) - first + 1);
  std::string serial(scanned);
  for (char& c : serial)
    if (c >= 'a' && c <= 'z') c = static_cast<char>(c - 'a' + 'A');
  return serial;
}

// What may be repeated in a sentence: printable, and not endless.
std::string as_read(std::string_view text) {
  std::string shown(text.substr(0, 40));
  for (char& c : shown)
    if (c < ' ' || c > '~') c = '?';
  return "\"" + shown + (text.size() > 40 ? "...\"" : "\"");
}

std::vector<const ModelDefinition*> models_of(const std::string& serial,
                                              std::span<const ModelDefinition> models) {
  std::vector<const ModelDefinition*> found;
  for (const ModelDefinition& model : models)
    if (matches_pattern(serial, model.serial_pattern)) found.push_back(&model);
  return found;
}

SerialRefusal no_pattern(const std::string& serial, std::span<const ModelDefinition> models) {
  std::string known;
  for (const ModelDefinition& model : models) known += (known.empty() ? "" : ", ") + model.id;
  return {"U-101", "Read " + as_read(serial) + ", which is not a serial of any known model (" +
                       known + "). Scan the label of the unit again."};
}

SerialRefusal two_patterns(const std::string& serial, const ModelDefinition& first,
                           const ModelDefinition& second) {
  return {"U-101", "Read " + as_read(serial) + ", which fits two models, " + first.id + " and " +
                       second.id + ". The serial patterns of their model files overlap."};
}

std::optional<SerialRefusal> check_character_refused(const std::string& serial) {
  const char read = serial.back();
  const std::optional<char> expected =
      check_character(std::string_view(serial).substr(0, serial.size() - 1));
  if (expected == read) return std::nullopt;
  const std::string computed = expected ? std::string("the other characters give ") + *expected
                                        : std::string("a character is neither letter nor digit");
  return SerialRefusal{"U-102", "Read " + as_read(serial) + ", whose check character is " + read +
                                    " but " + computed +
                                    ": a character was misread. Scan the label again."};
}

}  // namespace

// ISO/IEC 7064, hybrid system MOD 37,36: with P = 36 at first, for each character
// S = P + value, reduced modulo 36 (0 counts as 36), P = 2 S modulo 37; the check character makes
// P + value congruent 1 modulo 36.
std::optional<char> check_character(std::string_view body) {
  int product = 36;
  for (const char c : body) {
    if (c == '-') continue;
    const std::size_t value = kAlphabet.find(c);
    if (value == std::string_view::npos) return std::nullopt;
    const int sum = (product + static_cast<int>(value)) % 36;
    product = 2 * (sum == 0 ? 36 : sum) % 37;
  }
  return kAlphabet[static_cast<std::size_t>((37 - product) % 36)];
}

std::variant<SerialMatch, SerialRefusal> match_serial(std::string_view scanned,
                                                      std::span<const ModelDefinition> models) {
  const std::string serial = trimmed_upper(scanned);
  if (serial.empty() || serial.size() > kLongestSerial) return no_pattern(serial, models);
  const std::vector<const ModelDefinition*> found = models_of(serial, models);
  if (found.empty()) return no_pattern(serial, models);
  if (found.size() > 1) return two_patterns(serial, *found[0], *found[1]);
  if (found.front()->check_character)
    if (std::optional<SerialRefusal> refusal = check_character_refused(serial)) return *refusal;
  return SerialMatch{serial, found.front()->id};
}

}  // namespace endgate::daemon
