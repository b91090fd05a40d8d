#include "tests/benchmarks/store_commits.h"

#include <fcntl.h>
#include <unistd.h>

#include <future>
#include <stdexcept>
#include <thread>

#include "daemon/line/record_thread.h"
#include "daemon/queries/batch_trend.h"
#include "schema/backup.h"
#include "schema/store.h"
#include "schema/trend_file.h"
#include "tests/benchmarks/paired.h"
#include "tests/support/made_facts.h"

namespace endgate::benchmark {
namespace {

// Serials of this run alone: a store may be measured more than once.
class Serials {
 public:
  std::string next() { return own_ + std::to_string(number_++); }

 private:
  std::string own_ = "QC" + std::to_string(Clock::now().time_since_epoch().count()) + "-";
  int number_ = 0;
};

// As large as the budget says, 150 kB at rest.
schema::Trace large_trace() {
  schema::Trace trace = test::made_trace(20, 120, 200, 1);
  while (schema::encode(trace).size() > 150'000) trace.columns.pop_back();
  return trace;
}

class BareFile {
 public:
  explicit BareFile(const std::filesystem::path& path)
      : path_(path), file_(open(path.c_str(), O_WRONLY | O_CREAT | O_APPEND, 0600)) {}
  ~BareFile() {
    close(file_);
    std::filesystem::remove(path_);
  }
  BareFile(const BareFile&) = delete;
  BareFile& operator=(const BareFile&) = delete;
  void append_and_sync(const std::vector<std::uint8_t>& bytes) const {
    const ssize_t written = ::write(file_, bytes.data(), bytes.size());
    if (written != static_cast<ssize_t>(bytes.size()) || fdatasync(file_) != 0)
      throw std::runtime_error("cannot write " + path_.string());
  }

 private:
  std::filesystem::path path_;
  int file_;
};

// One test through the record thread; how long the record took, and how many jobs were refused.
class Line {
 public:
  explicit Line(const std::filesystem::path& store) : records_(store) {}

  double commit() {
    const schema::TestStart start = test::made_start(serials_.next());
    schema::Position started = 0;
    wait([&](schema::StoreWriter& writer) { started = writer.append(start); },
         daemon::RecordThread::Carries::entry);
    return seconds_of([&] {
      wait(
          [&](schema::StoreWriter& writer) {
            writer.append(test::made_record(started, start), trace_);
          },
          daemon::RecordThread::Carries::result);
    });
  }
  [[nodiscard]] int refused() const { return refused_; }

 private:
  template <class Work>
  void wait(Work work, daemon::RecordThread::Carries what) {
    const auto done = std::make_shared<std::promise<void>>();
    const auto job = [done, work](schema::StoreWriter& writer) {
      try {
        work(writer);
        done->set_value();
      } catch (...) {
        done->set_exception(std::current_exception());
      }
    };
    while (!records_.post(job, what)) {
      ++refused_;
      std::this_thread::sleep_for(std::chrono::milliseconds(1));
    }
    try {
      done->get_future().get();
    } catch (const schema::StoreFault& fault) {
      ++refused_;
      std::cerr << "refused: " << fault.what() << std::endl;
    }
  }

  daemon::RecordThread records_;
  Serials serials_;
  schema::Trace trace_ = test::made_trace(14, 90, 8, 1);
  int refused_ = 0;
};

void scan(const std::stop_token& stop, const std::filesystem::path& folder) {
  Clock::time_point caught_up{};
  const schema::StoreReader store(folder);
  schema::TrendWriter derived(folder);
  while (!stop.stop_requested()) {
    sink = daemon::batch_trend(store, {.model = "P1-60-12", .metric = "fad_400"}).back().mean;
    if (Clock::now() < caught_up + std::chrono::seconds(5)) continue;
    (void)derived.catch_up(store, 256);
    caught_up = Clock::now();
  }
}

struct Enough {};

// Given up in the middle when the measurement is over: `progress` is asked all along.
void copy_again_and_again(const std::stop_token& stop, const std::filesystem::path& store,
                          int& finished) {
  const std::filesystem::path target = store.string() + ".copy";
  while (!stop.stop_requested()) try {
      schema::back_up(store, target, [&](const schema::BackupStep&) {
        if (stop.stop_requested()) throw Enough();
      });
      ++finished;
      std::filesystem::remove_all(target);
    } catch (const Enough&) {
    }
  std::filesystem::remove_all(target);
  std::filesystem::remove_all(target.string() + ".unfinished");
}

}  // namespace

void compare_with_bare_file(const std::filesystem::path& store, int rounds) {
  schema::StoreWriter writer(store);
  Serials serials;
  const schema::Trace trace = large_trace();
  const std::vector<std::uint8_t> bytes = schema::encode(trace);
  const BareFile bare(store / "bare.bin");
  std::vector<double> ratios, packing;
  for (int i = 0; i < rounds; ++i) {
    const schema::TestStart start = test::made_start(serials.next());
    const schema::Record record = test::made_record(writer.append(start), start);
    const auto yardstick = [&] { return seconds_of([&] { bare.append_and_sync(bytes); }); };
    const double before = i % 2 == 0 ? yardstick() : 0;
    const double commit = seconds_of([&] { writer.append(record, trace); });
    ratios.push_back(commit / (i % 2 == 0 ? before : yardstick()));
    packing.push_back(seconds_of([&] {
                        sink = static_cast<double>(schema::encode(trace).size()) +
                               schema::hash_of(trace)[0];
                      }) /
                      commit);
    writer.checkpoint_when_due();
  }
  tell("commit with a trace of " + std::to_string(bytes.size()) + " bytes / append and fdatasync",
       quartiles_of(ratios), "2.0");
  tell("  of that commit, packing and hashing the trace", quartiles_of(packing), "none");
}

void compare_beside_readers(const std::filesystem::path& store, int commits) {
  constexpr int kBlocks = 10;
  std::vector<double> alone, beside;
  int finished = 0;
  Line line(store);
  for (int block = 0; block < kBlocks; ++block) {
    for (int i = 0; i < commits / kBlocks; ++i) alone.push_back(line.commit());
    std::jthread scans([&](const std::stop_token& stop) { scan(stop, store); });
    std::jthread copies(
        [&](const std::stop_token& stop) { copy_again_and_again(stop, store, finished); });
    for (int i = 0; i < commits / kBlocks; ++i) beside.push_back(line.commit());
  }
  std::cout << "commit of a record with its trace, " << alone.size() << " alone and "
            << beside.size() << " beside scans and a backup (" << finished << " finished): p50 "
            << 1e3 * at_share(alone, 0.5) << " and " << 1e3 * at_share(beside, 0.5) << " ms; p99 "
            << 1e3 * at_share(alone, 0.99) << " and " << 1e3 * at_share(beside, 0.99)
            << " ms, ratio " << at_share(beside, 0.99) / at_share(alone, 0.99)
            << ", goal 1.5; refused " << line.refused() << ", goal 0" << std::endl;
}

}  // namespace endgate::benchmark
