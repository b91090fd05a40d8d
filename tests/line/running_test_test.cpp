// A finished test on its way to the store, without a bench: what becomes of lost pieces?

#include "daemon/line/running_test.h"

#include <gmock/gmock.h>

#include "daemon/line/station_unit.h"
#include "daemon/mapping/trace_pieces.h"
#include "tests/line/line_plant.h"
#include "tests/support/made_facts.h"
#include "tests/support/shim_vfs.h"

namespace endgate::test {
namespace {

using namespace endgate::daemon;
using testing::HasSubstr;

class RunningTestTest : public ::testing::Test {
 protected:
  ShimVfs shim_;
  TemporaryFolder folder_;
  boost::asio::io_context io_;
  boost::asio::thread_pool pool_{1};
  std::unique_ptr<RecordThread> records_;
  std::shared_ptr<UnitOnBench> unit_ = std::make_shared<UnitOnBench>();
  std::shared_ptr<RunningTest> test_;
  std::optional<LineResult> kept_;
  std::optional<std::string> not_kept_;
  std::vector<std::string> pieces_lost_;

  [[nodiscard]] fs::path data() const { return folder_.path() / "data"; }

  void SetUp() override {
    shim_.sync_really = false;
    const fs::path config = folder_.path() / "config";
    fs::copy(fs::path(ENDGATE_SOURCE_DIR) / "fixtures/scenario", config,
             fs::copy_options::recursive);
    accept_all(config, data());
    const auto configuration = read_accepted(config, schema::StoreReader(data()));
    unit_->context = std::get<analysis::Context>(configuration->context("north", "P1-60-12"));
    unit_->production_limits = unit_->context.limits;
    unit_->plan.long_run = true;
    unit_->start = made_start(serial(1), 1);
    unit_->start_position = schema::StoreWriter(data()).append(unit_->start);
    records_ = std::make_unique<RecordThread>(data());
    const StationTools tools{io_,
                             pool_,
                             *records_,
                             data(),
                             [configuration] { return configuration; },
                             [](const LineState&) {}};
    RunningTest::Events events;
    events.kept = [this](LineResult result) { kept_ = std::move(result); };
    events.not_kept = [this](const schema::StoreFault& fault) { not_kept_ = fault.what(); };
    events.piece_lost = [this](const std::string& why) { pieces_lost_.push_back(why); };
    events.untidy = [](const std::string&) {};
    events.after_keeping = [](schema::StoreWriter&, schema::Position) {};
    test_ = std::make_shared<RunningTest>(tools, unit_, true, std::move(events));
  }

  void fill_trace_files() { shim_.fail_at(ShimVfs::What::write, 1, SQLITE_FULL, "trace-"); }
  template <class Condition>
  void until(Condition condition) {
    const auto give_up = std::chrono::steady_clock::now() + 30s;  // against hanging only
    while (!condition()) {
      ASSERT_LT(std::chrono::steady_clock::now(), give_up);
      io_.restart();
      io_.run_one_for(10ms);
    }
  }
  static FinishedTest whole_run() {
    FinishedTest test;
    test.last_sample_at = std::chrono::steady_clock::now();
    test.last_piece.emplace();
    return test;
  }
  [[nodiscard]] schema::Record record() const {
    return schema::StoreReader(data()).records_of(serial(1)).at(0).record;
  }
  [[nodiscard]] std::size_t pieces_named() const {
    const schema::StoreReader store(data());
    return pieces_named_in(*store.trace_of(store.records_of(serial(1)).at(0))).size();
  }
};

TEST_F(RunningTestTest, ALongRunWithoutOneOfItsPiecesIsNeverKeptAsWhole) {
  fill_trace_files();
  test_->keep_piece({});
  until([this] { return !pieces_lost_.empty(); });
  shim_.heal();
  test_->finish(whole_run());  // it was over before it could be stopped
  until([this] { return kept_.has_value(); });
  EXPECT_EQ(kept_->verdict, "void");
  EXPECT_EQ(record().verdict, "void");
  EXPECT_EQ(record().break_off, "ended_by_service");
  EXPECT_THAT(kept_->sentence, HasSubstr("a piece of the trace was not kept"));
  EXPECT_EQ(pieces_named(), 1U) << "the last one";
}

TEST_F(RunningTestTest, TheLastPieceWaitsWithTheResult) {
  fill_trace_files();
  test_->finish(whole_run());
  until([this] { return not_kept_.has_value(); });
  EXPECT_TRUE(test_->waits());
  EXPECT_TRUE(pieces_lost_.empty());
  shim_.heal();
  test_->keep_again();
  until([this] { return kept_.has_value(); });
  EXPECT_FALSE(test_->waits());
  EXPECT_EQ(record().break_off, "");
  EXPECT_EQ(pieces_named(), 1U);
}

}  // namespace
}  // namespace endgate::test
