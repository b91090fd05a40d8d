#include "daemon/line/enter_withdrawal.h"

#include <cmath>

#include "daemon/line/say_time.h"
#include "daemon/line/two_people.h"
#include "daemon/line/wall_clock.h"
#include "daemon/queries/entry_told.h"

namespace endgate::daemon {
namespace {

constexpr const char* kCode = "U-245";
constexpr const char* kTestStays =
    " is of a test. What was measured stays; test the unit again when the test was a mistake.";

// Why a fact that is no entry of a person stays.
struct WhyItStays {
  std::string operator()(const schema::Record&) const { return kTestStays; }
  std::string operator()(const schema::TestStart&) const { return kTestStays; }
  std::string operator()(const schema::BenchCheck&) const {
    return " is what a test of a reference unit showed, and a test stays. `endgate check-bench"
           " BENCH learn_anew` lets the reference unit be learned from its next tests on.";
  }
  std::string operator()(const schema::Definition& fact) const {
    return " is the accepted text " + fact.kind + " " + fact.subject + ", version " +
           std::to_string(fact.version) + ". Accept the text that is to hold.";
  }
  std::string operator()(const schema::Withdrawal&) const {
    return " is itself a withdrawal. Enter what was withdrawn anew.";
  }
  std::string operator()(const schema::Alarm&) const {
    return " is a step of an alarm. Take the alarm over or close it.";
  }
  template <class Fact>
  std::string operator()(const Fact&) const {
    return " was not entered by a person.";
  }
};

std::string at_position(schema::Position position) {
  return "What is kept at position " + std::to_string(position);
}

std::string withdrawn_before(const schema::Withdrawal& earlier) {
  return " was withdrawn before, on " + say_utc_minute(earlier.at.utc_ms) + " UTC by " +
         earlier.by + ": " + earlier.why + ".";
}

// The entry, or why there is none to withdraw.
std::variant<EntryTold, CommandRefusal> entry_at(const schema::StoreReader& reader,
                                                 schema::Position position) {
  const auto sealed = reader.sealed_fact(position);
  if (!sealed)
    return nothing_kept(kCode, "Nothing is kept at position " + std::to_string(position) +
                                   ". `endgate history` tells positions.");
  if (const auto earlier = reader.withdrawal_of(position))
    return nothing_kept(kCode, at_position(position) + withdrawn_before(earlier->fact));
  const schema::Fact fact = schema::decode_fact(sealed->bytes);
  if (auto told = entry_told(fact)) return std::move(*told);
  return nothing_kept(kCode, at_position(position) + std::visit(WhyItStays(), fact));
}

schema::Withdrawal withdrawal_in(Entry& entry) {
  const auto position = entry.number("position", 1e15);
  if (!position || *position < 1 || *position != std::floor(*position))
    entry.complain("Say the position of the entry, as history tells it.");
  return {.withdrawn = static_cast<schema::Position>(position.value_or(0)),
          .why = entry.need("why", "why"),
          .by = entry.need("by", "who withdraws it"),
          .second_by = entry.text("second_by"),
          .at = wall_clock_now()};
}

}  // namespace

Application::Entered enter_withdrawal(schema::StoreWriter& writer,
                                      const schema::StoreReader& reader,
                                      const EntryFields& fields) {
  Entry entry(fields);
  const schema::Withdrawal made = withdrawal_in(entry);
  const auto checked = entry.answer(made, kCode);
  if (const auto* refusal = std::get_if<CommandRefusal>(&checked)) return *refusal;
  const auto found = entry_at(reader, made.withdrawn);
  if (const auto* refusal = std::get_if<CommandRefusal>(&found)) return *refusal;
  const auto& told = std::get<EntryTold>(found);
  if (told.of_two_people && !two_people(made.by, made.second_by))
    return nothing_kept(kCode,
                        "The " + told.what + " of " + told.of +
                            " is withdrawn by two different people, as it would be changed.");
  const schema::Position position = writer.append(made);
  return Application::Accepted{"The " + told.what + " of " + told.of + " (" + told.words + ", by " +
                               told.by + ") is withdrawn (position " + std::to_string(position) +
                               "). It stays in the history and counts no more."};
}

}  // namespace endgate::daemon
