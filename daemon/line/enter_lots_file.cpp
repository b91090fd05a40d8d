#include "daemon/line/enter_lots_file.h"

#include <algorithm>

#include "daemon/line/file_fields.h"
#include "daemon/line/known_subject.h"
#include "daemon/line/wall_clock.h"

namespace endgate::daemon {
namespace {

std::string lots_lack(const EntryFields& fields) {
  if (!is_line_of_text(field_of(fields, "source")))
    return "Say in one line what the lots were read from.";
  if (!is_line_of_text(field_of(fields, "by"))) return "Say in one line who enters them.";
  return table_form_in(fields) ? "" : kTableForms;
}

// What the store says against naming this unit or batch; the serial becomes the one to keep.
class LotsCheck {
 public:
  explicit LotsCheck(const schema::StoreReader& store) : store_(store), serials_(store) {}

  std::optional<TableFault> fault_of(LotsOfLines& entry) {
    if (entry.lots.subject_kind == "unit") return fault_of_unit(entry);
    const std::string mistaken = mistaken_subject(store_, entry.lots);
    if (mistaken.empty()) return std::nullopt;
    return TableFault{.line = entry.line,
                      .column = "batch",
                      .found = "\"" + entry.lots.subject + "\", which is a unit here",
                      .expected = "its number in column serial"};
  }

  // How many parts an earlier entry says already; they are taken out.
  std::size_t leave_known(schema::Lots& lots) const {
    const auto earlier = store_.lots_of(lots.subject_kind, lots.subject);
    return std::erase_if(lots.parts, [&](const schema::PartLot& part) {
      return std::ranges::any_of(earlier, [&](const auto& kept) {
        return std::ranges::any_of(kept.fact.parts, [&](const schema::PartLot& before) {
          return before.part == part.part && before.lot == part.lot;
        });
      });
    });
  }

 private:
  std::optional<TableFault> fault_of_unit(LotsOfLines& entry) {
    auto kept_as = serials_.as_kept(entry.lots.subject);
    if (const auto* misread = std::get_if<SerialRefusal>(&kept_as))
      return TableFault{.line = entry.line,
                        .column = "serial",
                        .found = "\"" + entry.lots.subject + "\"",
                        .expected = "a serial of an accepted model. " + misread->sentence};
    entry.lots.subject = std::get<std::string>(kept_as);
    return std::nullopt;
  }

  const schema::StoreReader& store_;
  SerialsKept serials_;
};

void check_against(const schema::StoreReader& store, LotsRead& read, LotsFileRead& good) {
  LotsCheck check(store);
  for (LotsOfLines& entry : read.entries) {
    if (auto fault = check.fault_of(entry)) read.faults.push_back(std::move(*fault));
    good.known += check.leave_known(entry.lots);
  }
}

void complete(LotsFileRead& good, std::vector<LotsOfLines>& entries, const EntryFields& fields) {
  const schema::WallClock now = wall_clock_now();
  for (LotsOfLines& entry : entries) {
    if (entry.lots.parts.empty()) continue;
    good.parts += entry.lots.parts.size();
    entry.lots.source = field_of(fields, "source");
    entry.lots.by = field_of(fields, "by");
    entry.lots.at = now;
    good.entries.push_back(std::move(entry.lots));
  }
}

std::string counted_lots(std::size_t count, const std::string& thing) {
  return std::to_string(count) + " " + thing + (count == 1 ? "" : "s");
}

}  // namespace

std::variant<LotsFileRead, CommandRefusal> read_lots_file(const EntryFields& fields,
                                                          const schema::StoreReader* store,
                                                          std::vector<TableFault>* faults) {
  if (const std::string lacks = lots_lack(fields); !lacks.empty())
    return nothing_kept("U-263", lacks);
  LotsRead read = read_lots(field_of(fields, "text"), *table_form_in(fields));
  LotsFileRead good;
  if (store != nullptr && std::ranges::none_of(read.faults, &TableFault::of_file))
    check_against(*store, read, good);
  std::ranges::stable_sort(read.faults, {}, &TableFault::line);
  if (faults != nullptr) *faults = read.faults;
  if (!read.faults.empty()) return nothing_kept("U-264", sentence_of(read.faults));
  complete(good, read.entries, fields);
  return good;
}

Application::Entered enter_lots_file(schema::StoreWriter& writer, const LotsFileRead& read) {
  const std::string before = read.known == 0
                                 ? ""
                                 : " " + counted_lots(read.known, "part") +
                                       (read.known == 1 ? " was" : " were") + " known before.";
  if (read.entries.empty()) return Application::Accepted{"Nothing new was kept." + before};
  const schema::Position last = writer.append(read.entries);
  const auto count = static_cast<schema::Position>(read.entries.size());
  return Application::Accepted{
      counted_lots(read.parts, "lot") + " of parts, in " + std::to_string(count) +
      (count == 1 ? " entry" : " entries") + " of a unit or a batch each, kept (positions " +
      std::to_string(last - count + 1) + " to " + std::to_string(last) + ")." + before};
}

}  // namespace endgate::daemon
