#include "daemon/exchange/read_results.h"

#include <algorithm>
#include <array>
#include <sstream>

#include "daemon/exchange/result_columns.h"
#include "daemon/exchange/row_reader.h"

namespace endgate::daemon {
namespace {

constexpr std::array<std::string_view, 4> kVerdicts{"pass", "fail", "undecided", "void"};
constexpr std::array<std::string_view, 6> kPurposes{"production", "retest", "reference",
                                                    "returned",   "lab",    "trial"};
constexpr std::size_t kMostReasons = 2000;

// Of both kinds of unit; where they are the same, once.
std::vector<MetricColumn> every_metric_column() {
  std::vector<MetricColumn> all = metric_columns(ResultUnits::as_shown);
  for (MetricColumn& column : metric_columns(ResultUnits::si))
    if (std::ranges::find(all, column.name, &MetricColumn::name) == all.end())
      all.push_back(std::move(column));
  return all;
}

TableShape shape_of(const std::vector<MetricColumn>& columns,
                    const std::vector<std::string>& left_out) {
  TableShape shape{.known = {kFactColumns.begin(), kFactColumns.end()},
                   .needed = {"serial", "model", "start"},
                   .left_out = left_out};
  for (const MetricColumn& column : columns) shape.known.push_back(column.name);
  return shape;
}

class ResultReader {
 public:
  ResultReader(const TableRow& table_row, const std::vector<MetricColumn>& columns)
      : row_(table_row), columns_(columns) {
    test_.line = table_row.line;
    read_facts();
    for (const MetricColumn& column : columns_)
      if (!column.is_u) read_value(column);
    for (const MetricColumn& column : columns_)
      if (column.is_u) read_u(column);
    read_extrapolated();
    if (row_.is_good() && test_.verdict.empty() && test_.metrics.empty())
      row_.complain("", "neither a verdict nor a number", "one of them");
  }

  [[nodiscard]] bool is_good() const { return row_.is_good(); }
  [[nodiscard]] schema::ImportedTest take() { return std::move(test_); }
  [[nodiscard]] std::vector<TableFault> take_faults() { return row_.take_faults(); }

 private:
  void read_facts() {
    test_.serial = row_.needed("serial");
    test_.model = row_.needed("model");
    test_.tested_utc_ms = row_.utc_ms("start").value_or(0);
    test_.bench = row_.text("bench");
    test_.batch = row_.text("batch");
    test_.purpose = row_.word("purpose", kPurposes);
    test_.verdict = row_.word("verdict", kVerdicts);
    test_.attempt = row_.count("attempt");
    test_.cycle_s = row_.number_from_0("cycle_s");
    test_.reasons = row_.text("reasons", kMostReasons);
    test_.likely_cause = row_.text("likely_cause");
  }

  schema::MetricValue* metric(std::string_view id) {
    const auto found = std::ranges::find(test_.metrics, id, &schema::MetricValue::id);
    return found == test_.metrics.end() ? nullptr : &*found;
  }

  void read_value(const MetricColumn& column) {
    const auto shown = row_.number(column.name);
    if (!shown) return;
    if (metric(column.metric) != nullptr)
      return row_.complain(column.name, "the same metric in another unit too", "it once");
    test_.metrics.push_back(
        {.id = std::string(column.metric), .value = (*shown - column.offset) / column.factor});
  }

  void read_u(const MetricColumn& column) {
    const auto shown = row_.number_from_0(column.name);
    if (!shown) return;
    schema::MetricValue* of = metric(column.metric);
    if (of == nullptr)
      return row_.complain(column.name, "an uncertainty without its value", "both");
    if (of->u)
      return row_.complain(column.name, "the same uncertainty in another unit too", "it once");
    of->u = *shown / column.factor;
  }

  void read_extrapolated() {
    std::istringstream ids(row_.text("extrapolated"));
    for (std::string id; ids >> id;) {
      schema::MetricValue* of = metric(id);
      if (of == nullptr)
        return row_.complain("extrapolated", "\"" + id + "\"", "metrics of this row");
      of->extrapolated = true;
    }
  }

  RowReader row_;
  const std::vector<MetricColumn>& columns_;
  schema::ImportedTest test_;
};

}  // namespace

ResultsRead read_results(std::string_view text, TableForm form,
                         const std::vector<std::string>& left_out) {
  const std::vector<MetricColumn> columns = every_metric_column();
  ResultsRead read;
  read.faults = read_table(text, form, shape_of(columns, left_out), [&](const TableRow& row) {
    ResultReader result(row, columns);
    if (result.is_good()) read.tests.push_back(result.take());
    return result.take_faults();
  });
  return read;
}

}  // namespace endgate::daemon
