#include "daemon/views/study_asked.h"

#include <cmath>

#include "daemon/definitions/typed_number.h"

namespace endgate::daemon {
namespace {

std::vector<std::string> serials_in(const std::string& text) {
  std::vector<std::string> serials;
  std::string serial;
  for (const char c : text + " ") {
    if (c != ' ' && c != ',' && c != ';') {
      serial += c;
    } else if (!serial.empty()) {
      serials.push_back(std::exchange(serial, ""));
    }
  }
  return serials;
}

WrongQuestion wrong_number(const std::string& what, const std::string& text) {
  return {400, what + " \"" + text + "\" is no such number. Write it as 48.2."};
}

// A size is not shifted by the offset of its unit.
struct ToSi {
  const analysis::MetricFacts& facts;
  bool si;
  [[nodiscard]] double level(double value) const {
    return si ? value : (value - facts.offset) / facts.factor;
  }
  [[nodiscard]] double size(double value) const { return si ? value : value / facts.factor; }
};

std::optional<WrongQuestion> read_one_unit(StudyRead& read) {
  const StudyQuestion& q = read.question;
  const ToSi to{*analysis::facts_of_metric(q.tests.metric), q.si};
  if (read.asked.serials.size() != 1)
    return WrongQuestion{400, "A known value belongs to one unit: name its serial."};
  const auto known = typed_number(q.known);
  if (!known) return wrong_number("The known value", q.known);
  read.one_unit.known.value = to.level(*known);
  if (!q.known_u.empty()) {
    const auto u = typed_number(q.known_u);
    if (!u || *u < 0) return wrong_number("The uncertainty of the known value", q.known_u);
    read.one_unit.known.u = to.size(*u);
  }
  if (!q.width.empty()) {
    const auto width = typed_number(q.width);
    if (!width || *width <= 0) return wrong_number("The width of the limits", q.width);
    read.one_unit.limit_width = to.size(*width);
  }
  return std::nullopt;
}

std::optional<WrongQuestion> read_tests(StudyRead& read) {
  const StudyQuestion& q = read.question;
  if (q.by == "person")
    read.asked.by = StudyAsked::By::person;
  else if (!q.by.empty() && q.by != "bench")
    return WrongQuestion{400, "A study is by bench or by person, not by \"" + q.by + "\"."};
  if (q.repeats.empty()) return std::nullopt;
  const auto repeats = typed_number(q.repeats);
  if (!repeats || *repeats < 2 || *repeats > 1000 || *repeats != std::floor(*repeats))
    return WrongQuestion{400, "Repeats are a whole number from 2 on, not \"" + q.repeats + "\"."};
  read.asked.first_repeats = static_cast<std::size_t>(*repeats);
  return std::nullopt;
}

}  // namespace

std::variant<StudyRead, WrongQuestion> read_study(StudyQuestion question, const TestsKnown& known) {
  StudyRead read;
  read.asked.serials = serials_in(question.serials);
  if (question.tests.purpose.empty())
    question.tests.purpose = read.asked.serials.empty() ? "lab" : kAllPurposes;
  read.question = std::move(question);
  if (auto wrong = wrong_with(read.question.tests, known)) return *wrong;
  read.filter = filter_of(read.question.tests);
  if (auto wrong = read_tests(read)) return *wrong;
  if (read.question.one_unit())
    if (auto wrong = read_one_unit(read)) return *wrong;
  return read;
}

}  // namespace endgate::daemon
