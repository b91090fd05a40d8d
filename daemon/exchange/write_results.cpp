#include "daemon/exchange/write_results.h"

#include <charconv>
#include <nlohmann/json.hpp>

#include "daemon/queries/csv.h"

namespace endgate::daemon {
namespace {

using Json = nlohmann::ordered_json;

constexpr int kShownDigits = 10;

std::string csv_cell(const ResultCell& cell, int digits) {
  if (const auto* text = std::get_if<std::string>(&cell)) return csv_text(*text);
  if (const auto* count = std::get_if<std::int64_t>(&cell)) return std::to_string(*count);
  if (const auto* number = std::get_if<double>(&cell)) return csv_number(*number, digits);
  return {};
}

// The number that stands in the CSV.
double rounded(double number, int digits) {
  const std::string text = csv_number(number, digits);
  std::from_chars(text.data(), text.data() + text.size(), number);
  return number;
}

Json json_cell(const ResultCell& cell, int digits) {
  if (const auto* text = std::get_if<std::string>(&cell)) return *text;
  if (const auto* count = std::get_if<std::int64_t>(&cell)) return *count;
  if (const auto* number = std::get_if<double>(&cell)) return rounded(*number, digits);
  return nullptr;
}

}  // namespace

ResultWriter::ResultWriter(TableForm form, ResultUnits units, std::ostream& out)
    : form_(form),
      digits_(units == ResultUnits::si ? 0 : kShownDigits),
      out_(out),
      metrics_(metric_columns(units)),
      names_(kFactColumns.begin(), kFactColumns.end()) {
  for (const MetricColumn& column : metrics_) names_.push_back(column.name);
  if (form_ != TableForm::csv) return;
  for (std::size_t i = 0; i < names_.size(); ++i) out_ << (i > 0 ? "," : "") << csv_text(names_[i]);
  out_ << kCsvLineEnd;
}

bool ResultWriter::write(const ResultRow& row) {
  const std::vector<ResultCell> cells = cells_of(row, metrics_);
  if (form_ == TableForm::csv) {
    for (std::size_t i = 0; i < cells.size(); ++i)
      out_ << (i > 0 ? "," : "") << csv_cell(cells[i], digits_);
    out_ << kCsvLineEnd;
  } else {
    Json object;
    for (std::size_t i = 0; i < cells.size(); ++i) object[names_[i]] = json_cell(cells[i], digits_);
    out_ << object.dump() << '\n';
  }
  ++rows_;
  return static_cast<bool>(out_);
}

}  // namespace endgate::daemon
