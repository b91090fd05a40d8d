// How do trends answer without decoding every record?
//
// trend.db holds what they read, in packed columns per model and metric, and rollups per batch and
// bench-day.  It is derived: made from truth alone, deleted at any time, made anew at the next
// catching up.
//
//   D-1  it names the store, a position and the head there; a truth that has another head there
//        did not make it, and the file is emptied and made anew
//   D-2  what it answers is bit for bit what decoding the records gives
//   D-3  limits, corrections and lots are not in it: they are applied when read
//   D-4  a damaged file, or one of another format, is deleted and made anew
//   D-5  nothing here writes to truth, and no test waits for it: one sync at a checkpoint, at most
//
// Threading: one TrendWriter per folder, in the process that owns the store; any number of readers.

#pragma once

#include <filesystem>
#include <memory>
#include <string>
#include <vector>

#include "schema/trend_rollup.h"
#include "schema/trend_test.h"

namespace endgate::schema {

inline constexpr const char* kTrendFileName = "trend.db";

class TrendWriter {
 public:
  explicit TrendWriter(const std::filesystem::path& folder);  // makes the file when it lacks
  ~TrendWriter();
  TrendWriter(const TrendWriter&) = delete;
  TrendWriter& operator=(const TrendWriter&) = delete;

  struct Progress {
    Position position = 0, last_position = 0;  // taken over so far; of truth
    bool emptied = false;                      // truth did not have our head
    [[nodiscard]] bool done() const { return position >= last_position; }
  };
  // Takes over the next records, at most so many, in one transaction.
  Progress catch_up(const StoreReader& truth, std::size_t records_at_most = 512);

 private:
  struct Impl;
  std::unique_ptr<Impl> impl_;
};

// Deletes the file with its log; whoever reads it goes on with what it had.
void delete_trend_file(const std::filesystem::path& folder);

inline constexpr Position kUseBlock = 256;  // positions between two marks of a bench's use

enum class RollupSpan : std::uint8_t { batch = 0, bench_day = 1 };

class TrendReader {
 public:
  // Nothing when there is no file, or truth does not have its head, or it cannot be read.  Ends at
  // the deadline of `truth`.
  [[nodiscard]] static std::unique_ptr<TrendReader> open(const StoreReader& truth);
  ~TrendReader();
  TrendReader(const TrendReader&) = delete;
  TrendReader& operator=(const TrendReader&) = delete;

  [[nodiscard]] Position position() const;  // records up to here are in it

  // Every test of the model at or after an instant, in order of position.  Whole segments that are
  // older are not read; rows of the first one may be.
  void for_each_test(const std::string& model, const std::string& metric, std::int64_t since_utc_ms,
                     const VisitTest& visit) const;

  // Values of tests that are not void, one run for each stretch of one batch, in order of position.
  using VisitRun = std::function<void(std::string_view batch, std::span<const double> values)>;
  void for_each_run(const std::string& model, const std::string& metric, const std::string& purpose,
                    const VisitRun& visit) const;

  struct Rolled {
    std::string batch{};   // of a batch
    std::int64_t day = 0;  // of a bench-day: days since 1970, UTC
    std::string bench{};
    TrendRollup rollup{};
  };
  // How many tests a bench had made up to a position at or somewhat before `asked` (kUseBlock), so
  // that the rest is quickly counted in truth.
  struct BenchUse {
    Position up_to = 0;
    std::int64_t tests = 0;
  };
  [[nodiscard]] BenchUse bench_use(const std::string& bench, Position asked) const;

  // The newest `count`, oldest first.
  [[nodiscard]] std::vector<Rolled> rollups(const std::string& model, const std::string& metric,
                                            const std::string& purpose, RollupSpan span,
                                            std::size_t count) const;

 private:
  struct Impl;
  explicit TrendReader(std::unique_ptr<Impl> impl);
  std::unique_ptr<Impl> impl_;
};

}  // namespace endgate::schema
