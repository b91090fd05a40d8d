// A definition that is accepted comes into force by itself, whether a test runs or not.

#include <gmock/gmock.h>

#include <atomic>
#include <thread>

#include "tests/line/line_plant.h"

namespace endgate::test {
namespace {

using namespace endgate::daemon;

class AcceptedInForce : public LinePlant {
 protected:
  // A remark at the end of the bench file: another text, the same bench.
  void accept_another_text() {
    made_anew_ = false;
    const fs::path file = config() / "benches/north.toml";
    put_text(file, text_in(file) + "# " + std::to_string(++texts_) + "\n");
    std::promise<void> accepted;
    service_->accept({"north.toml", text_in(file), "Ada", "test"}, [&](const auto& answer) {
      EXPECT_TRUE(std::holds_alternative<Application::Accepted>(answer));
      accepted.set_value();
    });
    accepted.get_future().wait();
  }
  void SetUp() override {
    LinePlant::SetUp();
    look_ = [this](const LineState& state) {
      made_anew_ = made_anew_ || state.live.values.empty();
    };
  }
  // A bench that is set up anew has not heard a value yet.  Refused until it is ready.
  void begin_once_it_is_set_up(const std::string& unit) {
    wait_for([&](const LineState&) { return made_anew_.load(); });
    clamp(unit);
    const auto give_up = std::chrono::steady_clock::now() + 30s;  // against hanging only
    while (std::chrono::steady_clock::now() < give_up) {
      if (std::holds_alternative<LineState>(scan(unit)) &&
          std::holds_alternative<LineState>(start()))
        return;
      std::this_thread::sleep_for(50ms);
    }
    FAIL() << "the bench was not set up again";
  }
  [[nodiscard]] std::string bench_version_of(const LineState& shown) const {
    const auto kept = schema::StoreReader(data()).record_at(shown.result->position);
    for (const std::string& id : kept->record.context_ids)
      if (id.starts_with("bench ")) return id;
    return "";
  }

  int texts_ = 0;
  std::atomic<bool> made_anew_ = false;
};

TEST_F(AcceptedInForce, AnIdleBenchTestsTheNextUnitByTheNewText) {
  accept_another_text();
  begin_once_it_is_set_up(serial(160));
  const LineState shown = wait_for_verdict();
  EXPECT_NE(shown.result->verdict, "void") << shown.result->sentence;
  EXPECT_EQ(bench_version_of(shown), "bench north@2");
}

TEST_F(AcceptedInForce, ARunningTestEndsByTheOldTextAndTheNextOneHasTheNew) {
  begin(serial(161));
  accept_another_text();
  const LineState first = wait_for_verdict();
  EXPECT_EQ(bench_version_of(first), "bench north@1");
  begin_once_it_is_set_up(serial(162));
  const LineState second = wait_for([&](const LineState& state) {
    return state.phase == LinePhase::verdict && state.serial == serial(162);
  });
  EXPECT_EQ(bench_version_of(second), "bench north@2");
}

}  // namespace
}  // namespace endgate::test
