#include "daemon/exchange/read_lots.h"

#include <map>
#include <tuple>

#include "daemon/exchange/row_reader.h"

namespace endgate::daemon {
namespace {

// Of a unit or a batch, what the row says of one part.
struct LotRow {
  std::string kind{}, subject{};
  schema::PartLot part{};
};

class LotRowReader {
 public:
  explicit LotRowReader(const TableRow& row) : row_(row) {
    const std::string serial = row_.text("serial"), batch = row_.text("batch");
    if (row_.is_good() && serial.empty() == batch.empty())
      row_.complain("", serial.empty() ? "neither a serial nor a batch" : "a serial and a batch",
                    "one of the two");
    found_.kind = serial.empty() ? "batch" : "unit";
    found_.subject = serial.empty() ? batch : serial;
    found_.part = {row_.needed("part"), row_.needed("lot")};
    if (found_.part.part.find_first_of(" =") != std::string::npos)
      row_.complain("part", "\"" + found_.part.part + "\"", "one word, such as piston_ring");
  }

  [[nodiscard]] const LotRow& found() const { return found_; }
  [[nodiscard]] bool is_good() const { return row_.is_good(); }
  void complain(const std::string& found, const std::string& expected) {
    row_.complain("", found, expected);
  }
  [[nodiscard]] std::vector<TableFault> take_faults() { return row_.take_faults(); }

 private:
  RowReader row_;
  LotRow found_;
};

class LotsGathered {
 public:
  // The line that said the same before; 0: none.
  std::int64_t add(const LotRow& row, std::int64_t line) {
    const auto [said, is_new] =
        said_.try_emplace({row.kind, row.subject, row.part.part, row.part.lot}, line);
    if (!is_new) return said->second;
    const auto [at, is_first] = at_.try_emplace({row.kind, row.subject}, entries_.size());
    if (is_first)
      entries_.push_back(
          {.lots = {.subject_kind = row.kind, .subject = row.subject}, .line = line});
    entries_[at->second].lots.parts.push_back(row.part);
    return 0;
  }
  [[nodiscard]] std::vector<LotsOfLines> take() { return std::move(entries_); }

 private:
  std::map<std::tuple<std::string, std::string, std::string, std::string>, std::int64_t> said_;
  std::map<std::pair<std::string, std::string>, std::size_t> at_;
  std::vector<LotsOfLines> entries_;
};

}  // namespace

LotsRead read_lots(std::string_view text, TableForm form) {
  const TableShape shape{.known = {"serial", "batch", "part", "lot"}, .needed = {"part", "lot"}};
  LotsGathered gathered;
  LotsRead read;
  read.faults = read_table(text, form, shape, [&](const TableRow& table_row) {
    LotRowReader row(table_row);
    if (row.is_good())
      if (const std::int64_t before = gathered.add(row.found(), table_row.line); before > 0)
        row.complain("the same part and lot as in line " + std::to_string(before), "it once");
    return row.take_faults();
  });
  read.entries = gathered.take();
  return read;
}

}  // namespace endgate::daemon
