#include <algorithm>
#include <array>

#include "schema/packed_column.h"
#include "schema/trend_file.h"
#include "schema/trend_tables.h"

namespace endgate::schema {
namespace {

// One column over all segments; they come in order of their number.
class SeriesCursor {
 public:
  SeriesCursor(const Database& database, std::int64_t series)
      : series_(series),
        statement_(database, "SELECT id, bytes FROM packed WHERE id >= ? AND id < ? ORDER BY id"),
        rows_(statement_.query({packed_id(series, 0), packed_id(series + 1, 0)})),
        there_(rows_.next()) {}

  // The bytes of that segment, valid until the next call; nothing when it lacks this column.
  [[nodiscard]] std::optional<std::span<const std::uint8_t>> at(std::int64_t number) {
    while (there_ && rows_.integer(0) < packed_id(series_, number)) there_ = rows_.next();
    if (!there_ || rows_.integer(0) != packed_id(series_, number)) return std::nullopt;
    return rows_.view(1);
  }

 private:
  std::int64_t series_;
  Statement statement_;
  Rows rows_;
  bool there_;
};

struct Stretch {
  std::int64_t number = 0;
  std::size_t rows = 0;
};

}  // namespace

struct TrendReader::Impl {
  explicit Impl(const std::filesystem::path& path) : database(path, Database::Mode::read_only) {}

  [[nodiscard]] std::optional<std::int64_t> series(const std::string& model,
                                                   const std::string& name) const;
  [[nodiscard]] std::vector<Stretch> segments(const std::string& model,
                                              std::int64_t since_utc_ms) const;
  [[nodiscard]] std::unique_ptr<SeriesCursor> cursor(const std::string& model,
                                                     const std::string& name) const;

  Database database;
  Position position = 0;
  TrendNames names{};
};

std::optional<std::int64_t> TrendReader::Impl::series(const std::string& model,
                                                      const std::string& name) const {
  const Statement statement(database, "SELECT id FROM series WHERE model = ? AND name = ?");
  Rows rows = statement.query({model, name});
  return rows.next() ? std::optional(rows.integer(0)) : std::nullopt;
}

std::vector<Stretch> TrendReader::Impl::segments(const std::string& model,
                                                 std::int64_t since_utc_ms) const {
  const Statement statement(database,
                            "SELECT number, rows FROM segment WHERE model = ?"
                            " AND newest_utc_ms >= ? ORDER BY number");
  std::vector<Stretch> found;
  for (Rows rows = statement.query({model, since_utc_ms}); rows.next();)
    found.push_back({rows.integer(0), static_cast<std::size_t>(rows.integer(1))});
  return found;
}

std::unique_ptr<SeriesCursor> TrendReader::Impl::cursor(const std::string& model,
                                                        const std::string& name) const {
  const auto id = series(model, name);
  return id ? std::make_unique<SeriesCursor>(database, *id) : nullptr;
}

TrendReader::BenchUse TrendReader::bench_use(const std::string& bench, Position asked) const {
  const std::int64_t block = std::min(asked, impl_->position) / kUseBlock;
  const Statement statement(impl_->database,
                            "SELECT tests FROM used WHERE bench = ? AND block < ?"
                            " ORDER BY block DESC LIMIT 1");
  Rows rows = statement.query({impl_->names.known(bench), block});
  return {.up_to = std::max<Position>(0, block * kUseBlock - 1),
          .tests = rows.next() ? rows.integer(0) : 0};
}

TrendReader::TrendReader(std::unique_ptr<Impl> impl) : impl_(std::move(impl)) {}

TrendReader::~TrendReader() = default;

std::unique_ptr<TrendReader> TrendReader::open(const StoreReader& truth) {
  const std::filesystem::path path = truth.folder() / kTrendFileName;
  if (!std::filesystem::exists(path)) return nullptr;
  try {
    auto impl = std::make_unique<Impl>(path);
    // One picture for the reader's whole life.
    impl->database.run("PRAGMA query_only=ON; PRAGMA cache_size=-32768; BEGIN");
    if (!is_trend_file(impl->database)) return nullptr;
    const auto taken = taken_over(impl->database);
    if (!taken || !belongs_to(*taken, truth)) return nullptr;
    impl->position = taken->position;
    read_names(impl->database, impl->names);
    impl->database.give_up_at(truth.deadline());
    return std::unique_ptr<TrendReader>(new TrendReader(std::move(impl)));
  } catch (const StoreFault&) {
    return nullptr;  // truth answers instead; its writer makes the file anew
  }
}

Position TrendReader::position() const { return impl_->position; }

void TrendReader::for_each_test(const std::string& model, const std::string& metric,
                                std::int64_t since_utc_ms, const VisitTest& visit) const {
  std::vector<std::pair<std::string, std::unique_ptr<SeriesCursor>>> columns;
  for (const std::string& name : columns_read(metric))
    if (auto cursor = impl_->cursor(model, name)) columns.emplace_back(name, std::move(cursor));
  for (const Stretch& stretch : impl_->segments(model, since_utc_ms)) {
    TrendSegment segment{.rows = stretch.rows};
    for (const auto& [name, cursor] : columns)
      if (const auto bytes = cursor->at(stretch.number)) unpack_into(segment, name, *bytes);
    segment.for_each(model, metric, impl_->names, visit);
  }
}

namespace {

// The three columns by which values are sorted into runs; a run ends where the batch changes.
class RunReader {
 public:
  RunReader(std::unique_ptr<SeriesCursor> values, std::unique_ptr<SeriesCursor> batches,
            std::unique_ptr<SeriesCursor> verdicts, std::unique_ptr<SeriesCursor> purposes)
      : cursors_{std::move(batches), std::move(verdicts), std::move(purposes)},
        values_(std::move(values)) {}

  [[nodiscard]] bool read(const Stretch& stretch) {
    const auto bytes = values_->at(stretch.number);
    if (!bytes) return false;
    value_.resize(stretch.rows);
    unpack(*bytes, std::span<double>(value_));
    for (std::size_t i = 0; i < cursors_.size(); ++i) {
      columns_[i].resize(stretch.rows);
      const auto own = cursors_[i]->at(stretch.number);
      if (!own) return false;
      unpack(*own, std::span<std::int64_t>(columns_[i]));
    }
    return true;
  }
  [[nodiscard]] std::size_t rows() const { return value_.size(); }
  [[nodiscard]] std::int64_t batch(std::size_t row) const { return columns_[0][row]; }
  // The first row behind `row` of another batch.
  [[nodiscard]] std::size_t end_of_batch(std::size_t row) const {
    const auto other =
        std::find_if(columns_[0].begin() + static_cast<std::ptrdiff_t>(row), columns_[0].end(),
                     [own = batch(row)](std::int64_t batch) { return batch != own; });
    return static_cast<std::size_t>(other - columns_[0].begin());
  }
  // Behind `run`, the values of rows that are asked for; without a branch that guesses.
  void append_counting(std::size_t from, std::size_t to, std::int64_t not_verdict,
                       std::int64_t purpose, std::vector<double>& run) const {
    std::size_t kept = run.size();
    run.resize(kept + (to - from));
    for (std::size_t row = from; row < to; ++row) {
      run[kept] = value_[row];
      kept +=
          static_cast<std::size_t>((columns_[1][row] != not_verdict) &
                                   (columns_[2][row] == purpose) & (value_[row] == value_[row]));
    }
    run.resize(kept);
  }

 private:
  std::vector<double> value_{};
  std::array<std::unique_ptr<SeriesCursor>, 3> cursors_;
  std::unique_ptr<SeriesCursor> values_;
  std::array<std::vector<std::int64_t>, 3> columns_{};
};

}  // namespace

void TrendReader::for_each_run(const std::string& model, const std::string& metric,
                               const std::string& purpose, const VisitRun& visit) const {
  auto values = impl_->cursor(model, metric + "/value");
  if (!values) return;
  RunReader rows(std::move(values), impl_->cursor(model, "batch"), impl_->cursor(model, "verdict"),
                 impl_->cursor(model, "purpose"));
  const std::int64_t of_void = impl_->names.known("void");
  const std::int64_t asked = impl_->names.known(purpose);
  std::vector<double> run;
  std::int64_t batch = -1;
  const auto end_run = [&] {
    if (!run.empty()) visit(impl_->names.text_of(batch), run);
    run.clear();
  };
  for (const Stretch& stretch : impl_->segments(model, INT64_MIN)) {
    if (!rows.read(stretch)) continue;
    for (std::size_t row = 0, end = 0; row < rows.rows(); row = end) {
      if (rows.batch(row) != batch) end_run(), batch = rows.batch(row);
      end = rows.end_of_batch(row);
      rows.append_counting(row, end, of_void, asked, run);
    }
  }
  end_run();
}

std::vector<TrendReader::Rolled> TrendReader::rollups(const std::string& model,
                                                      const std::string& metric,
                                                      const std::string& purpose, RollupSpan span,
                                                      std::size_t count) const {
  std::vector<Rolled> found;
  const auto series = impl_->series(model, metric + "/value");
  if (!series) return found;
  const Statement statement(impl_->database,
                            "SELECT key, bench, n, mean, square, least, most, bins FROM rollup"
                            " WHERE series = ? AND purpose = ? AND span = ?"
                            " ORDER BY key DESC, bench DESC LIMIT ?");
  Rows rows = statement.query({*series, impl_->names.known(purpose),
                               static_cast<std::int64_t>(span), static_cast<std::int64_t>(count)});
  while (rows.next()) {
    const bool batch = span == RollupSpan::batch;
    found.push_back({.batch = std::string(batch ? impl_->names.text_of(rows.integer(0)) : ""),
                     .day = batch ? 0 : rows.integer(0),
                     .bench = std::string(batch ? "" : impl_->names.text_of(rows.integer(1))),
                     .rollup = rollup_in(rows, 2)});
  }
  std::ranges::reverse(found);
  return found;
}

}  // namespace endgate::schema
