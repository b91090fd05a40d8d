#include "daemon/line/enter_unit_fact.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>
#include <sstream>

#include "analysis/say_number.h"
#include "daemon/line/enter_withdrawal.h"
#include "daemon/line/entry.h"
#include "daemon/line/known_subject.h"
#include "daemon/line/two_people.h"
#include "daemon/line/wall_clock.h"
#include "daemon/queries/cause_agreement.h"
#include "daemon/queries/unit_history.h"
#include "schema/store.h"

namespace endgate::daemon {
namespace {

constexpr double kMostMonths = 1200;
constexpr double kMostHours = 1e6;

// "motor=M-118 reed=R-2620"
std::vector<schema::PartLot> parts_in(Entry& entry, const std::string& text) {
  std::vector<schema::PartLot> parts;
  std::istringstream in(text);
  for (std::string each; in >> each;) {
    const std::size_t sign = each.find('=');
    if (sign == std::string::npos || sign == 0 || sign + 1 == each.size())
      entry.complain("\"" + each + "\" is not PART=LOT.");
    else
      parts.push_back({each.substr(0, sign), each.substr(sign + 1)});
  }
  const auto twice = [&](const schema::PartLot& part) {
    return std::ranges::count_if(parts, [&](const schema::PartLot& other) {
             return other.part == part.part && other.lot == part.lot;
           }) > 1;
  };
  if (std::ranges::any_of(parts, twice)) entry.complain("A part is named twice with the same lot.");
  return parts;
}

void check_retest(Entry& entry, const schema::Disposition& made, const UnitNow& now) {
  if (now.scrapped && !two_people(made.by, made.second_by))
    entry.complain("Calling back a scrapped unit needs the names of two different people.");
  if (now.scrapped || now.repaired_since) return;
  if (now.returned_since && now.standing == "hold")
    entry.complain("The unit came back and needs no decision. Test it as a customer return.");
  if (now.standing == "reject")
    entry.complain("The unit failed. Record a repair before its next test.");
  if (now.standing == "release")
    entry.complain("The unit is released. Scan it and choose a reason to test it again.");
}

void check_concession(Entry& entry, const schema::Disposition& made, const UnitNow& now) {
  if (now.standing == "release") entry.complain("The unit is released; it needs no concession.");
  if (now.scrapped) entry.complain("The unit was scrapped. Decide on a retest first.");
  if (!two_people(made.by, made.second_by))
    entry.complain("A concession needs the names of two different people.");
}

UnitNow unit_now(const schema::StoreReader& reader, const std::string& serial) {
  const UnitHistory unit = history_of(reader, serial);
  UnitNow now;
  if (!unit.standing || unit.tests.empty()) return now;
  now.standing = unit.standing->word;
  now.scrapped = !unit.decisions.empty() && unit.decisions.back().fact.decision == "scrap";
  const schema::Position tested = unit.tests.back().position;
  now.repaired_since = !unit.repairs.empty() && unit.repairs.back().position > tested;
  now.returned_since = !unit.returns.empty() && unit.returns.back().position > tested;
  return now;
}

std::string subject_of(const schema::Lots& lots) { return lots.subject_kind + " " + lots.subject; }
template <class Fact>
std::string subject_of(const Fact& fact) {
  return fact.serial;
}

// What was understood: "Return of QH2648-0001-A is kept (position 17).", and what is known of it.
template <class Fact>
Application::Entered keep(schema::StoreWriter& writer, const std::string& name,
                          const std::variant<Fact, CommandRefusal>& entry,
                          const std::string& known) {
  if (const auto* refusal = std::get_if<CommandRefusal>(&entry)) return *refusal;
  const Fact& fact = std::get<Fact>(entry);
  const schema::Position position = writer.append(fact);
  return Application::Accepted{name + " of " + subject_of(fact) + " is kept (position " +
                               std::to_string(position) + ")." + known};
}

CommandRefusal misread_serial(const SerialRefusal& misread) {
  return nothing_kept(misread.code, misread.sentence);
}

Application::Entered keep_lots(schema::StoreWriter& writer, const schema::StoreReader& reader,
                               const LotsEntry& entry) {
  if (const auto* refusal = std::get_if<CommandRefusal>(&entry)) return *refusal;
  auto lots = std::get<schema::Lots>(entry);
  if (const std::string wrong = mistaken_subject(reader, lots); !wrong.empty())
    return nothing_kept("U-240", wrong);
  if (lots.subject_kind == "unit") {
    const auto kept_as = serial_to_keep(reader, lots.subject);
    if (const auto* misread = std::get_if<SerialRefusal>(&kept_as)) return misread_serial(*misread);
    lots.subject = std::get<std::string>(kept_as);
  }
  return keep(writer, "Lots", LotsEntry(lots), known_of(reader, lots));
}

// Said of a finding that is not of the list of causes; empty otherwise and when there is no list.
std::string kept_as_words(const schema::StoreReader& reader, const std::string& serial,
                          const std::string& finding) {
  const std::vector<schema::StoredRecord> tests = reader.records_of(serial);
  if (tests.empty()) return "";
  const std::vector<ListedCause> list = causes_listed(tests.back().record);
  if (list.empty() || listed_as(list, finding) != nullptr) return "";
  std::string names;
  for (const ListedCause& cause : list) names += (names.empty() ? "" : ", ") + cause.name;
  return " The finding is none of the list of causes and is kept as words; the list has " + names +
         ".";
}

// A unit cannot be in use for longer than it exists; kept all the same, since its birth test may be
// missing here.
std::string beyond_its_age(const schema::StoreReader& reader, const std::string& serial,
                           const EntryFields& fields) {
  constexpr double kMonth_ms = 30.44 * 24 * 3600 * 1000;
  const std::vector<schema::StoredRecord> tests = reader.records_of(serial);
  const std::optional<double> months = Entry(fields).number("months_in_use", kMostMonths);
  if (tests.empty() || !months) return "";
  const auto since = wall_clock_now().utc_ms - tests.front().record.start.at.utc_ms;
  const double age = static_cast<double>(since) / kMonth_ms;
  if (*months <= age + 1) return "";
  return " It was first tested here " + analysis::say_number(std::floor(age), 0) +
         " months ago, less than the months in use: withdraw the entry if that was a slip.";
}

// The other three name a unit.
Application::Entered keep_of_unit(schema::StoreWriter& writer, const schema::StoreReader& reader,
                                  std::string_view kind, EntryFields fields) {
  const auto kept_as = serial_to_keep(reader, Entry(fields).text("serial"));
  if (const auto* misread = std::get_if<SerialRefusal>(&kept_as)) return misread_serial(*misread);
  const auto& serial = std::get<std::string>(kept_as);
  fields["serial"] = serial;
  const std::string known = known_of_unit(reader, serial);
  if (kind == "return")
    return keep(writer, "Return", return_entry(fields),
                known + beyond_its_age(reader, serial, fields));
  if (kind == "repair")
    return keep(writer, "Repair", repair_entry(fields),
                known + kept_as_words(reader, serial, Entry(fields).text("finding")));
  return keep(writer, "Decision (" + Entry(fields).text("decision") + ")",
              decision_entry(fields, unit_now(reader, serial)), known);
}

constexpr std::array<std::string_view, 5> kKinds{"lots", "return", "repair", "decision",
                                                 "withdrawal"};

}  // namespace

bool is_unit_fact(std::string_view kind) { return std::ranges::find(kKinds, kind) != kKinds.end(); }

LotsEntry lots_entry(const EntryFields& fields) {
  Entry entry(fields);
  schema::Lots lots{.subject_kind = entry.text("subject_kind"),
                    .subject = entry.need("subject", "which unit or batch it is"),
                    .source = entry.text("source"),
                    .by = entry.need("by", "who says so"),
                    .at = wall_clock_now()};
  if (lots.subject_kind != "unit" && lots.subject_kind != "batch")
    entry.complain("Lots are of a unit or of a batch, not of \"" + lots.subject_kind + "\".");
  lots.parts = parts_in(entry, entry.need("parts", "the parts and lots, as in motor=M-118"));
  return entry.answer(lots, "U-240");
}

ReturnEntry return_entry(const EntryFields& fields) {
  Entry entry(fields);
  const schema::ReturnIntake intake{.serial = entry.need("serial", "which unit came back"),
                                    .complaint = entry.need("complaint", "what the complaint is"),
                                    .condition = entry.text("condition"),
                                    .months_in_use = entry.number("months_in_use", kMostMonths),
                                    .hours_in_use = entry.number("hours_in_use", kMostHours),
                                    .by = entry.need("by", "who received it"),
                                    .at = wall_clock_now()};
  return entry.answer(intake, "U-241");
}

RepairEntry repair_entry(const EntryFields& fields) {
  Entry entry(fields);
  const schema::Repair repair{.serial = entry.need("serial", "which unit was repaired"),
                              .finding = entry.need("finding", "what was found"),
                              .parts = entry.text("parts"),
                              .by = entry.need("by", "who repaired it"),
                              .at = wall_clock_now()};
  return entry.answer(repair, "U-242");
}

DecisionEntry decision_entry(const EntryFields& fields, const UnitNow& now) {
  Entry entry(fields);
  const schema::Disposition made{.serial = entry.need("serial", "which unit it is about"),
                                 .decision = entry.need("decision", "what was decided"),
                                 .reason = entry.need("reason", "why"),
                                 .by = entry.need("by", "who decided"),
                                 .second_by = entry.text("second_by"),
                                 .at = wall_clock_now()};
  if (now.standing.empty()) entry.complain("No test of " + made.serial + " is kept here.");
  if (made.decision == "retest")
    check_retest(entry, made, now);
  else if (made.decision == "concession")
    check_concession(entry, made, now);
  else if (made.decision != "scrap")
    entry.complain("A decision is retest, scrap or concession, not \"" + made.decision + "\".");
  return entry.answer(made, "U-243");
}

Application::Entered enter_unit_fact(schema::StoreWriter& writer,
                                     const std::filesystem::path& store_folder,
                                     std::string_view kind, const EntryFields& fields) {
  const schema::StoreReader reader(store_folder);
  if (kind == "withdrawal") return enter_withdrawal(writer, reader, fields);
  if (kind == "lots") return keep_lots(writer, reader, lots_entry(fields));
  return keep_of_unit(writer, reader, kind, fields);
}

}  // namespace endgate::daemon
