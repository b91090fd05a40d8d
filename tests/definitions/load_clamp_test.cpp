// A fixture clamp that the bench itself closes, in a bench file.

#include <gmock/gmock.h>

#include "daemon/definitions/fit.h"
#include "tests/definitions/scenario_text.h"

namespace endgate::daemon {
namespace {

using testing::Contains;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Not;

constexpr const char* kClampInput =
    "[interlocks]\nfixture_clamped = { device = \"io\", function = 4, address = 2, bit = 11 }";

Loaded<BenchDefinition> with_clamp(const std::string& keys, bool with_input) {
  const std::string text = scenario_text("benches/north.toml") +
                           "\n[[actuator]]\nid = \"clamp\"\ndevice = \"io\"\naddress = 110\n" +
                           keys;
  return load_bench(with_input ? with(text, "[interlocks]", kClampInput) : text, "b");
}

TEST(LoadClamp, IsReadBackByItsInput) {
  const auto loaded = with_clamp("", true);
  ASSERT_THAT(texts_of(loaded), IsEmpty());
  EXPECT_THAT(not_promised_of(std::get<BenchDefinition>(loaded)),
              Not(Contains(HasSubstr("clamp"))));
}

TEST(LoadClamp, WithoutItsInputIsRefused) {
  EXPECT_THAT(texts_of(with_clamp("", false)),
              Contains(HasSubstr("interlocks: expected fixture_clamped: the motor starts only")));
}

TEST(LoadClamp, HasNoSafeValue) {
  EXPECT_THAT(texts_of(with_clamp("safe_si = 0\n", true)),
              Contains(HasSubstr("safe_si: expected no safe value: a clamp opens only after")));
}

}  // namespace
}  // namespace endgate::daemon
