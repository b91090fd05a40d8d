// The fixture clamp of the simulated bench, named by a bench file alone.

#include "tests/line/line_plant.h"

namespace endgate::test {
namespace {

class ClampedPlant : public LinePlant {
 protected:
  static constexpr int kClamp = 110;

  void edit_config() override {
    const fs::path file = config() / "benches/north.toml";
    replace_value(file, "relay_latched_open",
                  "{ device = \"io\", function = 4, address = 2, bit = 4 }\n"
                  "fixture_clamped = { device = \"io\", function = 4, address = 2, bit = 11 }");
    put_text(file,
             text_in(file) + "\n[[actuator]]\nid = \"clamp\"\ndevice = \"io\"\naddress = 110\n");
  }
  [[nodiscard]] bool is_closed() {
    const simbench::Words words = simbench::Libmodbus(bench_.port()).holding(kClamp, 1);
    return !words.empty() && words[0] == 1;
  }
};

TEST_F(ClampedPlant, HoldsAUnitFromStartToEndOfItsTest) {
  EXPECT_FALSE(is_closed());
  begin(serial(301));
  wait_for_step("hold_600");
  EXPECT_TRUE(is_closed());
  const daemon::LineState shown = wait_for_verdict();
  ASSERT_TRUE(shown.result);
  EXPECT_NE(shown.result->verdict, "void") << shown.result->sentence;
  EXPECT_FALSE(is_closed());
}

TEST_F(ClampedPlant, ClosesOnNothingWithoutAUnitAndNoMotorStarts) {
  const auto scanned = scan(serial(302));
  ASSERT_TRUE(std::holds_alternative<daemon::LineState>(scanned)) << say(scanned);
  ASSERT_TRUE(std::holds_alternative<daemon::LineState>(start()));
  wait_for_verdict();
  const schema::Record kept = schema::StoreReader(data()).records_of(serial(302)).at(0).record;
  EXPECT_EQ(kept.verdict, "void");
  const std::string& why = kept.reasons.at(0).sentence;
  EXPECT_NE(why.find("clamp was not read back closed"), std::string::npos) << why;
}

}  // namespace
}  // namespace endgate::test
