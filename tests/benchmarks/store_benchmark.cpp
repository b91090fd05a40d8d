// What do big stores cost?  Counted where it can be counted, else ratios inside one run.
//
//   store_benchmark make FOLDER TESTS [--full-size]   a store of invented tests, synced to nothing
//   store_benchmark measure SMALL BIG                 every figure, on two such stores
//   store_benchmark traces STORE                      bytes of kept traces against entropy
//   store_benchmark sizes SMALL BIG                   what must not grow with the store
//   store_benchmark trend STORE                       exact trend, rollups and what-if alone
//   store_benchmark commits STORE                     commits alone and beside scans
//   store_benchmark log STORE                         bytes of log per record, by B-tree
//
// `measure` appends a few full-size tests to both stores.

#include <algorithm>
#include <atomic>
#include <chrono>
#include <cmath>
#include <cstdlib>
#include <iostream>
#include <map>
#include <random>
#include <stdexcept>
#include <string>
#include <thread>
#include <vector>

#include "analysis/sum.h"
#include "daemon/queries/batch_trend.h"
#include "daemon/queries/what_if.h"
#include "fixtures/history/invented_tests.h"
#include "schema/sqlite_handle.h"
#include "schema/store.h"
#include "schema/trend_file.h"
#include "schema/verify.h"
#include "tests/support/made_facts.h"
#include "tests/support/shim_vfs.h"

namespace {

using namespace endgate;
using Clock = std::chrono::steady_clock;

constexpr const char* kModel = "P1-60-12";
constexpr const char* kUntouchedModel = "P1-60-24";  // no benchmark appends to it

template <class Work>
double seconds_of(Work work) {
  const auto begin = Clock::now();
  work();
  return std::chrono::duration<double>(Clock::now() - begin).count();
}

struct Quartiles {
  double low, middle, high;
};
Quartiles quartiles_of(std::vector<double> values) {
  std::ranges::sort(values);
  const auto at = [&](double share) {
    return values[static_cast<std::size_t>(share * static_cast<double>(values.size() - 1))];
  };
  return {at(0.25), at(0.5), at(0.75)};
}

void tell(const std::string& what, const Quartiles& ratio, const std::string& goal) {
  std::cout << what << ": " << ratio.middle << " [" << ratio.low << " .. " << ratio.high
            << "], goal " << goal << std::endl;
}

// Subject and yardstick in turn, the order swapped each time.
template <class Subject, class Yardstick>
Quartiles paired(int rounds, Subject subject, Yardstick yardstick) {
  std::vector<double> ratios;
  for (int i = 0; i < rounds; ++i) {
    double s = 0, y = 0;
    if (i % 2 == 0) s = seconds_of(subject), y = seconds_of(yardstick);
    if (i % 2 == 1) y = seconds_of(yardstick), s = seconds_of(subject);
    ratios.push_back(s / y);
  }
  return quartiles_of(ratios);
}

std::atomic<double> sink{0};  // keeps what was computed

void make(const std::filesystem::path& folder, std::int64_t tests, bool full_size) {
  test::ShimVfs shim;
  shim.sync_really = false;
  std::filesystem::create_directories(folder);
  schema::StoreWriter writer(folder);
  history::InventedTests invented({.full_size = full_size});
  const double seconds = seconds_of([&] {
    for (std::int64_t i = 1; i <= tests; ++i) {
      invented.keep_next(writer);
      if (i % 1000 == 0) writer.checkpoint_when_due();
      if (i % 50'000 == 0) std::cerr << i << " tests" << std::endl;
    }
  });
  std::cout << tests << " tests in " << seconds << " s" << std::endl;
}

void rebuild(const std::filesystem::path& folder) {
  const schema::StoreReader truth(folder);
  schema::TrendWriter derived(folder);
  const double seconds = seconds_of([&] {
    while (!derived.catch_up(truth, 8192).done()) {
    }
  });
  std::cout << folder.string() << ": trend.db caught up with " << truth.record_count()
            << " records in " << seconds << " s, "
            << static_cast<double>(std::filesystem::file_size(folder / schema::kTrendFileName)) /
                   1e6
            << " MB" << std::endl;
}

// Page numbers in the log: the first four bytes of each frame's head.
std::vector<std::int64_t> pages_logged(const test::ShimVfs& shim) {
  constexpr std::size_t kFrameHead = 24;
  std::vector<std::int64_t> pages;
  for (const test::ShimVfs::Operation& done : shim.log) {
    if (done.file != "records.db-wal" || done.bytes.size() != kFrameHead) continue;
    std::int64_t page = 0;
    for (std::size_t i = 0; i < 4; ++i) page = page << 8 | static_cast<std::uint8_t>(done.bytes[i]);
    pages.push_back(page);
  }
  return pages;
}

void list_trees(const std::filesystem::path& folder, const std::vector<std::int64_t>& pages,
                int tests) {
  const schema::Database database(folder / "records.db", schema::Database::Mode::read_only);
  const schema::Statement statement(database, "SELECT pageno, name, pagetype FROM dbstat");
  std::map<std::int64_t, std::string> tree;
  for (schema::Rows rows = statement.query({}); rows.next();)
    tree[rows.integer(0)] = rows.text(1) + ", " + rows.text(2);
  std::map<std::string, double> count;
  for (const std::int64_t page : pages) count[tree[page]] += 1.0 / tests;
  for (const auto& [name, per_test] : count)
    std::cout << "  pages per test of " << name << ": " << per_test << std::endl;
}

void count_log_bytes(const std::filesystem::path& folder, bool with_trees) {
  constexpr int kTests = 50;
  test::ShimVfs shim;
  schema::StoreWriter writer(folder);
  const auto keep = [&](const std::string& serial) {
    const schema::TestStart start = test::made_start(serial);
    writer.append(test::made_record(writer.append(start), start), std::nullopt);
  };
  const std::string own = "QZ" + std::to_string(Clock::now().time_since_epoch().count()) + "-";
  keep(own + "first");
  shim.reset_counts();
  shim.keep_log = with_trees;
  for (int i = 0; i < kTests; ++i) keep(own + std::to_string(i));
  std::cout << "log bytes per record without trace: " << shim.bytes["records.db-wal"] / kTests
            << ", goal 50000; syncs per test without trace: "
            << static_cast<double>(shim.all_syncs()) / kTests << ", goal 2" << std::endl;
  if (with_trees) list_trees(folder, pages_logged(shim), kTests);
}

double history_seconds(const schema::StoreReader& store, std::int64_t some) {
  return seconds_of([&] {
    sink = static_cast<double>(store.records_of(history::InventedTests::serial_of(some)).size());
  });
}

double latest_seconds(const schema::StoreReader& store) {
  return seconds_of([&] { sink = static_cast<double>(store.latest_records(200).size()); });
}

void compare_sizes(const std::filesystem::path& small, const std::filesystem::path& big) {
  const schema::StoreReader of_small(small), of_big(big);
  std::mt19937_64 random(1);
  std::uniform_int_distribution<std::int64_t> any_in_small(0, of_small.record_count() / 2);
  std::uniform_int_distribution<std::int64_t> any_in_big(0, of_big.record_count() / 2);
  std::vector<double> history, latest, opening;
  for (int i = 0; i < 400; ++i) {
    const double s = history_seconds(of_small, any_in_small(random));
    const double b = history_seconds(of_big, any_in_big(random));
    history.push_back(b / s);
    const double ls = latest_seconds(of_small), lb = latest_seconds(of_big);
    latest.push_back(lb / ls);
  }
  tell("one serial's history, big / small", quartiles_of(history), "1.5 for ten times the tests");
  tell("latest 200 of a model, big / small", quartiles_of(latest), "1.5 for ten times the tests");
  for (int i = 0; i < 15; ++i) {
    const double s = seconds_of([&] {
      sink = static_cast<double>(schema::StoreReader(small).starts_without_record().size());
    });
    const double b = seconds_of([&] {
      sink = static_cast<double>(schema::StoreReader(big).starts_without_record().size());
    });
    opening.push_back(b / s);
  }
  tell("opening and looking for tests cut off, big / small", quartiles_of(opening), "about 1");
}

double one_pass(const std::vector<double>& column) {
  double lanes[8] = {};
  for (std::size_t i = 0; i + 8 <= column.size(); i += 8)
    for (std::size_t k = 0; k < 8; ++k) lanes[k] += column[i + k];
  double sum = 0;
  for (const double lane : lanes) sum += lane;
  return sum;
}

void measure_trend(const std::filesystem::path& folder) {
  const schema::StoreReader store(folder);
  const daemon::BatchQuestion question{.model = kModel, .metric = "fad_400"};
  std::vector<double> column;
  const auto derived = schema::TrendReader::open(store);
  derived->for_each_run(kModel, "fad_400", "production",
                        [&](std::string_view, std::span<const double> values) {
                          column.insert(column.end(), values.begin(), values.end());
                        });
  const auto exact = [&] {
    sink = daemon::batch_trend(store, derived.get(), question).back().running_mean;
  };
  const auto pass = [&] {
    for (int i = 0; i < 10; ++i) sink = sink + one_pass(column);
  };
  Quartiles ratio = paired(15, exact, pass);
  for (double* value : {&ratio.low, &ratio.middle, &ratio.high}) *value *= 10;
  std::cout << column.size() << " values of one model in "
            << daemon::batch_trend(store, question).size() << " batches" << std::endl;
  tell("exact trend by batch / one pass over the column", ratio, "20");
  tell("rollups of all batches / exact",
       paired(
           15, [&] { sink = daemon::rolled_batch_trend(*derived, question, 100'000).back().mean; },
           exact),
       "0.1");
}

void measure_rollups(const std::filesystem::path& small, const std::filesystem::path& big) {
  const schema::StoreReader of_small(small), of_big(big);
  const daemon::BatchQuestion question{.model = kModel, .metric = "fad_400"};
  const auto in_small = schema::TrendReader::open(of_small);
  const auto in_big = schema::TrendReader::open(of_big);
  const auto ask = [&](const schema::TrendReader& derived) {
    return [&] { sink = daemon::rolled_batch_trend(derived, question, 40).back().mean; };
  };
  tell("rollups of the newest 40 batches, big / small", paired(101, ask(*in_big), ask(*in_small)),
       "1, flat");
}

void measure_what_if(const std::filesystem::path& folder) {
  const schema::StoreReader store(folder);
  std::size_t units = 0;
  const double seconds = seconds_of([&] {
    for (const char* model : {"P1-20-12", "P1-60-12", "P1-60-24", "P2-120-24"})
      if (const auto answer =
              daemon::what_if(store, {.model = model}, {.metric = "fad_400", .lower = 8.3e-4}))
        units += static_cast<std::size_t>(answer->changed.of);
  });
  std::cout << "what-if over " << units << " units of four models: " << seconds
            << " s, goal 1 for 1 M" << std::endl;
}

void measure_verify(const std::filesystem::path& folder) {
  schema::VerifyResult result;
  const double seconds = seconds_of([&] { result = schema::verify(folder, false); });
  std::cout << "verification of " << result.facts << " facts: " << seconds
            << " s, goal 60 for 1 M records"
            << (result.first_bad ? ", NOT SOUND: " + result.what : "") << std::endl;
}

// Real syncs; a scan reads the trend again and again and, as in the daemon, catches up every 5 s.
void measure_commits(const std::filesystem::path& folder) {
  constexpr int kCommits = 300;
  schema::StoreWriter writer(folder);
  const schema::Trace trace = test::made_trace(14, 90, 8, 1);
  const std::string own = "QC" + std::to_string(Clock::now().time_since_epoch().count()) + "-";
  int number = 0;
  const auto commit = [&] {
    const schema::TestStart start = test::made_start(own + std::to_string(number++));
    const schema::Position started = writer.append(start);
    const double seconds =
        seconds_of([&] { writer.append(test::made_record(started, start), trace); });
    writer.checkpoint_when_due();
    return seconds;
  };
  std::vector<double> alone, beside;
  Clock::time_point caught_up{};
  for (int block = 0; block < 6; ++block) {
    for (int i = 0; i < kCommits / 6; ++i) alone.push_back(commit());
    std::jthread scan([&](const std::stop_token& stop) {
      const schema::StoreReader store(folder);
      schema::TrendWriter derived(folder);
      while (!stop.stop_requested()) {
        sink = daemon::batch_trend(store, {.model = kModel, .metric = "fad_400"}).back().mean;
        if (Clock::now() < caught_up + std::chrono::seconds(5)) continue;
        (void)derived.catch_up(store, 256);
        caught_up = Clock::now();
      }
    });
    for (int i = 0; i < kCommits / 6; ++i) beside.push_back(commit());
  }
  const auto p99 = [](std::vector<double> values) {
    std::ranges::sort(values);
    return values[values.size() * 99 / 100];
  };
  std::cout << "commit of a record with its trace, p50 alone " << 1e3 * quartiles_of(alone).middle
            << " ms, beside scans " << 1e3 * quartiles_of(beside).middle << " ms; p99 ratio "
            << p99(beside) / p99(alone) << ", goal 1.5" << std::endl;
}

double entropy_bytes(const std::vector<std::int64_t>& values) {
  std::map<std::int64_t, double> counts;
  for (const std::int64_t value : values) ++counts[value];
  double bits = 0;
  for (const auto& [value, count] : counts)
    bits -= count * std::log2(count / static_cast<double>(values.size()));
  return bits / 8;
}

// Of the values themselves, their differences or the differences of those.
double best_delta_bytes(std::vector<std::int64_t> values) {
  double best = entropy_bytes(values);
  for (int order = 0; order < 2 && values.size() > 1; ++order) {
    for (std::size_t i = values.size() - 1; i > 0; --i) values[i] -= values[i - 1];
    values.erase(values.begin());
    best = std::min(best, entropy_bytes(values));
  }
  return best;
}

void measure_traces(const std::filesystem::path& folder) {
  constexpr std::size_t kTraces = 50;
  const schema::StoreReader store(folder);
  double kept = 0, entropy = 0;
  std::size_t traces = 0;
  for (const schema::StoredRecord& stored : store.latest_records(kTraces)) {
    const auto trace = store.trace_of(stored);
    if (!trace) continue;
    ++traces;
    kept += static_cast<double>(schema::encode(*trace).size());
    std::vector<std::vector<std::int64_t>> times;
    for (const schema::TraceColumn& column : trace->columns) {
      entropy += best_delta_bytes(column.raw);
      if (std::ranges::find(times, column.time_us) != times.end()) continue;
      times.push_back(column.time_us);
      entropy += best_delta_bytes(column.time_us);
    }
  }
  std::cout << traces << " traces: " << kept / entropy
            << " of the order-0 entropy of the best delta, goal 1.10; mean "
            << kept / static_cast<double>(traces) << " bytes" << std::endl;
}

int run(const std::vector<std::string>& words) {
  const auto is = [&](const char* verb, std::size_t least) {
    return words.size() >= least + 1 && words[0] == verb;
  };
  if (is("make", 2)) {
    make(words[1], std::stoll(words[2]), words.size() > 3 && words[3] == "--full-size");
  } else if (is("traces", 1)) {
    measure_traces(words[1]);
  } else if (is("log", 1)) {
    count_log_bytes(words[1], true);
  } else if (is("trend", 1)) {
    rebuild(words[1]);
    measure_trend(words[1]);
    measure_what_if(words[1]);
  } else if (is("commits", 1)) {
    measure_commits(words[1]);
  } else if (is("sizes", 2)) {
    compare_sizes(words[1], words[2]);
    measure_rollups(words[1], words[2]);
  } else if (is("measure", 2)) {
    const std::filesystem::path small = words[1], big = words[2];
    for (const auto& folder : {small, big}) rebuild(folder);
    measure_trend(big);
    measure_rollups(small, big);
    measure_what_if(big);
    compare_sizes(small, big);
    for (const auto& folder : {small, big}) count_log_bytes(folder, folder == small);
    measure_verify(big);
    measure_commits(big);
  } else {
    std::cerr << "usage: store_benchmark make FOLDER TESTS [--full-size] | measure SMALL BIG | "
                 "traces STORE | trend STORE | commits STORE | log STORE\n";
    return 2;
  }
  return 0;
}

}  // namespace

int main(int argc, char** argv) {
  try {
    return run({argv + 1, argv + argc});
  } catch (const std::exception& fault) {
    std::cerr << fault.what() << "\n";
    return 70;
  }
}
