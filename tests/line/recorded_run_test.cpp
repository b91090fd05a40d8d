// A kept test played again: through the same wire of sequence, safety, evaluation and store, on a
// bench that is only a file.

#include "daemon/queries/recorded_run.h"

#include <gmock/gmock.h>

#include "daemon/line/configuration.h"
#include "tests/line/line_plant.h"

namespace endgate::test {
namespace {

class RecordedRunPlant : public LinePlant {
 protected:
  // Without a limit no leak is decided early: what a test did not watch cannot be played.
  void edit_config() override {
    const fs::path limits = config() / "limits/P1-60-12.toml";
    const std::string text = text_in(limits);
    put_text(limits, text.substr(0, text.find("[[limit]]\nmetric = \"back_leak\"")));
  }
  // The newest test of this serial becomes the bench; its store is put aside.
  void play_again(const std::string& unit) {
    {
      const schema::StoreReader store(data());
      const auto records = store.records_of(unit);
      ASSERT_FALSE(records.empty());
      kept_ = records.back().record;
      const auto trace = store.trace_of(records.back());
      ASSERT_TRUE(trace.has_value());
      std::ofstream file(config() / "benches/run.csv", std::ios::binary);
      daemon::write_recorded_run(kept_, *trace, file);
    }
    close();
    fs::rename(data(), folder_.path() / "first");
    put_text(config() / "benches/north.toml",
             text_in(fs::path(ENDGATE_SOURCE_DIR) / "fixtures/examples/benches/recorded_run.toml"));
    replace_value(config() / "benches/north.toml", "id", "\"north\"");
    replace_value(config() / "benches/north.toml", "rate", std::to_string(kRate));
    accept_all(config(), data());
    open();
  }
  void run(const std::string& unit) {
    const auto scanned = scan(unit);
    ASSERT_TRUE(std::holds_alternative<daemon::LineState>(scanned)) << say(scanned);
    const auto started = start();
    ASSERT_TRUE(std::holds_alternative<daemon::LineState>(started)) << say(started);
  }
  schema::Record kept_;
};

TEST_F(RecordedRunPlant, ATestPlayedAgainComesToTheSameNumbersAndSaysItIsSimulated) {
  begin(serial(117));
  EXPECT_EQ(wait_for_verdict().phase, daemon::LinePhase::verdict);
  play_again(serial(117));
  run(serial(117));
  wait_for_step("hold_600");  // what is shown is of this test
  wait_for_verdict();
  const auto records = schema::StoreReader(data()).records_of(serial(117));
  ASSERT_EQ(records.size(), 1U);
  const schema::Record& played = records[0].record;
  EXPECT_TRUE(played.simulated);
  EXPECT_EQ(played.verdict, kept_.verdict)
      << played.break_off << (played.reasons.empty() ? "" : played.reasons[0].sentence);
  ASSERT_EQ(played.metrics.size(), kept_.metrics.size());
  for (std::size_t i = 0; i < played.metrics.size(); ++i) {
    const schema::MetricValue &now = played.metrics[i], &then = kept_.metrics[i];
    ASSERT_EQ(now.value.has_value(), then.value.has_value()) << then.id;
    if (!now.value) continue;
    // Both are read while the machine does other work: which samples are seen, and so where a hold
    // ends, is not the same twice.
    EXPECT_NEAR(*now.value, *then.value, 2 * then.u.value()) << then.id;
  }
}

TEST_F(RecordedRunPlant, AStopIsObeyedAsByABench) {
  begin(serial(117));
  wait_for_verdict();
  play_again(serial(117));
  run(serial(117));
  wait_for_step("hold_600");
  service_->stop("north", "test");
  const daemon::LineState ended = wait_for_verdict();
  EXPECT_EQ(schema::StoreReader(data()).records_of(serial(117)).at(0).record.verdict, "void");
  EXPECT_EQ(ended.message.find("unknown"), std::string::npos) << ended.message;
}

}  // namespace
}  // namespace endgate::test
