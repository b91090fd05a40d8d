// What do big stores cost?  Counted where it can be counted, else ratios inside one run.
//
//   store_benchmark make FOLDER TESTS [--full-size]   a store of invented tests, synced to nothing
//   store_benchmark measure SMALL BIG                 every figure, on two such stores
//   store_benchmark traces STORE                      bytes of kept traces against entropy
//   store_benchmark sizes SMALL BIG                   what must not grow with the store
//   store_benchmark trend STORE                       exact trend, rollups and what-if alone
//   store_benchmark commits STORE [COMMITS]           against a bare file; alone and beside readers
//   store_benchmark verify STORE                      the chain, against one pass over its bytes
//   store_benchmark log STORE                         bytes of log per record, by B-tree
//
// `measure` appends a few full-size tests to both stores.

#include <cstdlib>
#include <iostream>
#include <map>
#include <random>
#include <stdexcept>
#include <string>
#include <vector>

#include "daemon/queries/batch_trend.h"
#include "daemon/queries/tests_listed.h"
#include "daemon/queries/what_if.h"
#include "fixtures/history/invented_tests.h"
#include "schema/sha256.h"
#include "schema/sqlite_handle.h"
#include "schema/store.h"
#include "schema/trend_file.h"
#include "schema/verify.h"
#include "tests/benchmarks/paired.h"
#include "tests/benchmarks/store_commits.h"
#include "tests/support/delta_entropy.h"
#include "tests/support/logged_trees.h"
#include "tests/support/made_facts.h"
#include "tests/support/shim_vfs.h"

namespace {

using namespace endgate;
using namespace endgate::benchmark;

constexpr const char* kModel = "P1-60-12";
constexpr int kCommits = 1000;  // p99 is the tenth worst

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
  if (!with_trees) return;
  for (const auto& [tree, pages] : test::pages_by_tree(folder, test::pages_logged(shim)))
    std::cout << "  pages per test of " << tree << ": " << 1.0 * pages / kTests << std::endl;
}

double history_seconds(const schema::StoreReader& store, std::int64_t some) {
  return seconds_of([&] {
    sink = static_cast<double>(store.records_of(history::InventedTests::serial_of(some)).size());
  });
}

// What the list of tests asks: the newest of all, and of a model on a bench with their number.
double listed_seconds(const schema::StoreReader& store, const daemon::TrendFilter& filter) {
  const daemon::ListAsked asked{.filter = filter, .count = 200};
  return seconds_of([&] {
    sink = static_cast<double>(daemon::tests_listed(store, asked, {kModel}).tests.size());
  });
}

void compare_histories(const schema::StoreReader& small, const schema::StoreReader& big) {
  std::mt19937_64 random(1);
  std::uniform_int_distribution<std::int64_t> any_in_small(0, small.record_count() / 2);
  std::uniform_int_distribution<std::int64_t> any_in_big(0, big.record_count() / 2);
  std::vector<double> ratios;
  for (int i = 0; i < 400; ++i) {
    const double s = history_seconds(small, any_in_small(random));
    ratios.push_back(history_seconds(big, any_in_big(random)) / s);
  }
  tell("one serial's history, big / small", quartiles_of(ratios), "1.5 for ten times the tests");
}

void compare_lists(const schema::StoreReader& small, const schema::StoreReader& big) {
  const daemon::TrendFilter all{.purpose = ""};
  const daemon::TrendFilter one{.model = kModel, .bench = "bench-5", .purpose = ""};
  std::vector<double> newest, listed, of_one, seconds;
  for (int i = 0; i < 25; ++i) {
    const double s =
        seconds_of([&] { sink = static_cast<double>(small.latest_records(200).size()); });
    const double b =
        seconds_of([&] { sink = static_cast<double>(big.latest_records(200).size()); });
    newest.push_back(b / s);
    const double all_small = listed_seconds(small, all);
    listed.push_back(listed_seconds(big, all) / all_small);
    const double one_small = listed_seconds(small, one);
    seconds.push_back(listed_seconds(big, one));
    of_one.push_back(seconds.back() / one_small);
  }
  tell("newest 200 records, big / small", quartiles_of(newest), "1.5");
  tell("list of tests: newest 200 and the number of all, big / small", quartiles_of(listed), "1.5");
  tell("list of tests: newest 200 of a model on a bench and their number, big / small",
       quartiles_of(of_one), "1.5");
  tell("  the same, ms in big",
       quartiles_of({1e3 * at_share(seconds, 0.25), 1e3 * at_share(seconds, 0.5),
                     1e3 * at_share(seconds, 0.75)}),
       "none");
}

void compare_openings(const std::filesystem::path& small, const std::filesystem::path& big) {
  const auto open = [](const std::filesystem::path& folder) {
    return [folder] {
      const schema::StoreWriter writer(folder);
      sink = static_cast<double>(schema::StoreReader(folder).starts_without_record().size());
    };
  };
  tell("opening for writing and looking for tests cut off, big / small",
       paired(15, open(big), open(small)), "about 1");
}

void compare_sizes(const std::filesystem::path& small, const std::filesystem::path& big) {
  {
    const schema::StoreReader of_small(small), of_big(big);
    compare_histories(of_small, of_big);
    compare_lists(of_small, of_big);
  }
  compare_openings(small, big);
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

// The yardstick reads every fact once and hashes it; the chain cannot be had for less.
void measure_verify(const std::filesystem::path& folder) {
  schema::VerifyResult result;
  double seconds = 0;
  const auto verify = [&] {
    seconds = seconds_of([&] { result = schema::verify(folder, false); });
  };
  const auto pass = [&] {
    const schema::Database truth(folder / "records.db", schema::Database::Mode::read_only);
    const schema::Statement facts(truth, "SELECT bytes FROM fact");
    for (schema::Rows rows = facts.query({}); rows.next();) {
      schema::Sha256 sha;
      sink = sha.bytes(rows.view(0)).done()[0];
    }
  };
  tell("verification of the chain / one pass of reading and hashing", paired(3, verify, pass),
       "none");
  std::cout << "  " << result.facts << " facts in " << seconds << " s, goal 60 for 1 M records"
            << (result.first_bad ? ", NOT SOUND: " + result.what : "") << std::endl;
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
    entropy += test::delta_entropy_bytes(*trace);
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
    const int commits = words.size() > 2 ? std::stoi(words[2]) : kCommits;
    compare_with_bare_file(words[1], commits / 10);
    compare_beside_readers(words[1], commits);
  } else if (is("verify", 1)) {
    measure_verify(words[1]);
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
    compare_with_bare_file(big, kCommits / 10);
    compare_beside_readers(big, kCommits);
  } else {
    std::cerr << "usage: store_benchmark make FOLDER TESTS [--full-size] | measure SMALL BIG | "
                 "sizes SMALL BIG | traces STORE | trend STORE | commits STORE [COMMITS] | "
                 "verify STORE | log STORE\n";
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
