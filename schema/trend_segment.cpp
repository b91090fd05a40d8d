#include "schema/trend_segment.h"

#include <algorithm>
#include <array>
#include <bit>
#include <charconv>
#include <cmath>
#include <limits>
#include <set>

namespace endgate::schema {
namespace {

constexpr double kMissing = std::numeric_limits<double>::quiet_NaN();
constexpr std::int64_t kStopped = 1, kWouldHaveFailed = 2;

constexpr std::array kTestColumns = {
    "position", "time",        "attempt", "bench",  "batch",          "purpose", "verdict",
    "operator", "calibration", "limits",  "reason", "reason_subject", "flags",   "software"};
constexpr std::array kMetricReals = {"/value", "/u", "/random_u", "/pass_band", "/fail_band"};
constexpr std::array kMetricNames = {"/bounds", "/last_bounds", "/outcome", "/elsewhere"};

std::string hex_bits(const std::optional<double>& value) {
  if (!value) return "-";
  char digits[16];
  const auto end =
      std::to_chars(std::begin(digits), std::end(digits), std::bit_cast<std::uint64_t>(*value), 16);
  return {digits, end.ptr};
}

std::optional<double> from_hex_bits(std::string_view digits) {
  if (digits == "-") return std::nullopt;
  std::uint64_t bits = 0;
  std::from_chars(digits.data(), digits.data() + digits.size(), bits, 16);
  return std::bit_cast<double>(bits);
}

// A pair of bounds is one more name: there are few of them.
std::string text_of(const TrendBounds& bounds) {
  return hex_bits(bounds.lower) + " " + hex_bits(bounds.upper);
}

TrendBounds bounds_in(std::string_view text) {
  const std::size_t gap = std::min(text.find(' '), text.size());
  return {from_hex_bits(text.substr(0, gap)),
          gap < text.size() ? from_hex_bits(text.substr(gap + 1)) : std::nullopt};
}

std::set<std::string_view> metrics_of(const Record& record) {
  std::set<std::string_view> ids;
  for (const MetricValue& value : record.metrics) ids.insert(value.id);
  for (const LimitAsWas& limit : record.limits) ids.insert(limit.metric);
  return ids;
}

std::optional<double> if_there(double value) {
  return std::isnan(value) ? std::nullopt : std::optional(value);
}

// The last row, with every row before it missing when the column is new.
template <class Columns, class Value>
void set_last(Columns& columns, std::string name, std::size_t rows, Value value, Value missing) {
  auto& column = columns[std::move(name)];
  column.resize(rows - 1, missing);
  column.push_back(value);
}

// The columns of one segment as a reader of rows wants them: an absent one answers "missing".
class RowReader {
 public:
  RowReader(const TrendSegment& segment, std::string_view metric)
      : segment_(segment), metric_(metric) {}

  [[nodiscard]] const std::int64_t* integers(const std::string& name) const {
    const auto found = segment_.integers.find(name);
    return found == segment_.integers.end() ? nullptr : found->second.data();
  }
  [[nodiscard]] const std::int64_t* of_metric(const char* suffix) const {
    return integers(metric_ + suffix);
  }
  [[nodiscard]] const double* reals(const char* suffix) const {
    const auto found = segment_.reals.find(metric_ + suffix);
    return found == segment_.reals.end() ? nullptr : found->second.data();
  }

 private:
  const TrendSegment& segment_;
  std::string metric_;
};

std::int64_t at(const std::int64_t* column, std::size_t row) { return column ? column[row] : 0; }
std::optional<double> at(const double* column, std::size_t row) {
  return column ? if_there(column[row]) : std::nullopt;
}

struct TestColumnsRead {
  explicit TestColumnsRead(const RowReader& from) {
    for (std::size_t i = 0; i < kTestColumns.size(); ++i)
      column[i] = from.integers(kTestColumns[i]);
  }
  [[nodiscard]] TrendTest row(std::size_t row, const TrendNames& names) const {
    const auto number = [&](std::size_t i) { return at(column[i], row); };
    const auto name = [&](std::size_t i) { return names.text_of(number(i)); };
    return {.position = number(0),
            .started_utc_ms = number(1),
            .attempt = number(2),
            .bench = name(3),
            .batch = name(4),
            .purpose = name(5),
            .verdict = name(6),
            .operator_name = name(7),
            .software = name(13),
            .calibration = name(8),
            .limits = name(9),
            .reason_code = name(10),
            .reason_subject = name(11),
            .stopped_by_person = (number(12) & kStopped) != 0,
            .would_have_failed = (number(12) & kWouldHaveFailed) != 0};
  }
  std::array<const std::int64_t*, kTestColumns.size()> column{};
};

// Rows next to each other nearly always have the same bounds.
class BoundsNamed {
 public:
  const TrendBounds& of(std::int64_t id, const TrendNames& names) {
    if (id != id_) bounds_ = bounds_in(names.text_of(id)), id_ = id;
    return bounds_;
  }

 private:
  std::int64_t id_ = -1;
  TrendBounds bounds_{};
};

struct MetricColumnsRead {
  explicit MetricColumnsRead(const RowReader& from) {
    for (std::size_t i = 0; i < kMetricReals.size(); ++i) real[i] = from.reals(kMetricReals[i]);
    for (std::size_t i = 0; i < kMetricNames.size(); ++i) name[i] = from.of_metric(kMetricNames[i]);
  }
  [[nodiscard]] TrendMetric row(std::size_t row, const TrendNames& names) {
    TrendMetric metric{
        .value = at(real[0], row), .u = at(real[1], row), .random_u = at(real[2], row)};
    if (at(name[0], row) == 0) return metric;
    metric.limit = TrendLimit{.bounds = bounds.of(at(name[0], row), names),
                              .pass_band = at(real[3], row).value_or(0),
                              .fail_band = at(real[4], row).value_or(0),
                              .outcome = names.text_of(at(name[2], row)),
                              .elsewhere = names.text_of(at(name[3], row)),
                              .last_bounds = last_bounds.of(at(name[1], row), names)};
    return metric;
  }
  std::array<const double*, kMetricReals.size()> real{};
  std::array<const std::int64_t*, kMetricNames.size()> name{};
  BoundsNamed bounds{}, last_bounds{};
};

void append_test(TrendSegment& segment, const TrendTest& test, TrendNames& names) {
  const std::array<std::int64_t, kTestColumns.size()> values = {
      test.position,
      test.started_utc_ms,
      test.attempt,
      names.id_of(test.bench),
      names.id_of(test.batch),
      names.id_of(test.purpose),
      names.id_of(test.verdict),
      names.id_of(test.operator_name),
      names.id_of(test.calibration),
      names.id_of(test.limits),
      names.id_of(test.reason_code),
      names.id_of(test.reason_subject),
      (test.stopped_by_person ? kStopped : 0) | (test.would_have_failed ? kWouldHaveFailed : 0),
      names.id_of(test.software)};
  for (std::size_t i = 0; i < values.size(); ++i)
    segment.integers[kTestColumns[i]].push_back(values[i]);
  segment.serials.emplace_back(test.serial);
}

void append_metric(TrendSegment& segment, const std::string& id, const TrendMetric& metric,
                   TrendNames& names) {
  const auto real = [&](const char* suffix, const std::optional<double>& value) {
    if (value) set_last(segment.reals, id + suffix, segment.rows, *value, kMissing);
  };
  const auto name = [&](const char* suffix, std::string_view text) {
    set_last(segment.integers, id + suffix, segment.rows, names.id_of(text), std::int64_t{0});
  };
  real("/value", metric.value);
  real("/u", metric.u);
  real("/random_u", metric.random_u);
  if (!metric.limit) return;
  real("/pass_band", metric.limit->pass_band);
  real("/fail_band", metric.limit->fail_band);
  name("/bounds", text_of(metric.limit->bounds));
  name("/last_bounds", text_of(metric.limit->last_bounds));
  name("/outcome", metric.limit->outcome);
  name("/elsewhere", metric.limit->elsewhere);
}

}  // namespace

std::int64_t TrendNames::id_of(std::string_view text) {
  if (text.empty()) return 0;
  const auto found = ids_.find(text);
  if (found != ids_.end()) return found->second;
  add(std::string(text));
  return static_cast<std::int64_t>(texts_.size());
}

std::string_view TrendNames::text_of(std::int64_t id) const {
  if (id == 0) return {};
  if (id < 0 || static_cast<std::size_t>(id) > texts_.size())
    throw StoreFault(StoreFault::Kind::damaged, "a packed column names what has no name");
  return *texts_[static_cast<std::size_t>(id - 1)];
}

std::int64_t TrendNames::known(std::string_view text) const {
  if (text.empty()) return 0;
  const auto found = ids_.find(text);
  return found == ids_.end() ? -1 : found->second;
}

void TrendNames::add(std::string text) {
  const auto number = static_cast<std::int64_t>(texts_.size()) + 1;
  texts_.push_back(&ids_.emplace(std::move(text), number).first->first);
}

ColumnKind kind_of_column(std::string_view name) {
  if (name == "serial") return ColumnKind::texts;
  const bool real = std::ranges::any_of(
      kMetricReals, [name](std::string_view suffix) { return name.ends_with(suffix); });
  return real ? ColumnKind::reals : ColumnKind::integers;
}

void TrendSegment::append(const StoredRecord& stored, TrendNames& names) {
  ++rows;
  append_test(*this, trend_test_of(stored), names);
  for (const std::string_view id : metrics_of(stored.record))
    append_metric(*this, std::string(id), trend_metric_of(stored.record, id), names);
  for (auto& [name, column] : integers) column.resize(rows, 0);
  for (auto& [name, column] : reals) column.resize(rows, kMissing);
}

void TrendSegment::for_each(std::string_view model, std::string_view metric,
                            const TrendNames& names, const VisitTest& visit) const {
  const RowReader from(*this, metric);
  const TestColumnsRead tests(from);
  MetricColumnsRead metrics(from);
  for (std::size_t row = 0; row < rows; ++row) {
    TrendTest test = tests.row(row, names);
    test.model = model;
    if (row < serials.size()) test.serial = serials[row];
    visit(test, metrics.row(row, names));
  }
}

std::vector<std::string> columns_read(std::string_view metric) {
  std::vector<std::string> columns(kTestColumns.begin(), kTestColumns.end());
  columns.emplace_back("serial");
  if (metric.empty()) return columns;
  for (const char* suffix : kMetricReals) columns.push_back(std::string(metric) + suffix);
  for (const char* suffix : kMetricNames) columns.push_back(std::string(metric) + suffix);
  return columns;
}

}  // namespace endgate::schema
