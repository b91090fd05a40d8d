// An exception that nobody awaited, on each thread of the service, while a motor runs.

#include <stdexcept>

#include "tests/line/line_plant.h"

namespace endgate::test {
namespace {

using daemon::LineState;

class Stray : public LinePlant {
 protected:
  // Motors are off and the test is kept when the service that asked for its end is ended.
  void expect_an_end_in_order(const std::string& unit) {
    wait_for([](const LineState& state) { return state.result.has_value(); });
    EXPECT_TRUE(has_failed_);
    close();
    const simbench::Words words = simbench::Libmodbus(bench_.port()).input(2, 1);
    ASSERT_FALSE(words.empty());
    EXPECT_EQ(words[0] & 4U, 0U) << "the relay is closed";
    EXPECT_EQ(schema::StoreReader(data()).records_of(unit).at(0).record.verdict, "void");
  }
};

TEST_F(Stray, OnTheIoThreadSwitchesMotorsOffAndEndsInOrder) {
  std::atomic<bool> once = false;
  const auto listener = service_->subscribe([&](const LineState&) {
    if (once.exchange(false)) throw std::runtime_error("a page that cannot be written");
  });
  begin(serial(240));
  wait_for_step("hold_600");
  once = true;
  wait_for([](const LineState& state) { return state.result.has_value(); });
  service_->unsubscribe(listener);
  expect_an_end_in_order(serial(240));
}

TEST_F(Stray, OnTheRecordThreadSwitchesMotorsOffAndEndsInOrder) {
  begin(serial(241));
  wait_for_step("hold_600");
  service_->enter(
      [](schema::StoreWriter&) -> daemon::Application::Entered {
        throw std::runtime_error("an entry nobody thought of");
      },
      [](const daemon::Application::Entered&) {});
  expect_an_end_in_order(serial(241));
}

TEST_F(Stray, InAQuestionDelaysNoTest) {
  ASSERT_TRUE(service_->on_pool([] { throw std::runtime_error("a question nobody thought of"); }));
  begin(serial(242));
  EXPECT_NE(wait_for_verdict().result->verdict, "void");
  EXPECT_FALSE(has_failed_);
}

}  // namespace
}  // namespace endgate::test
