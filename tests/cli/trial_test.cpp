#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "daemon/cli/exit_status.h"
#include "tests/cli/command.h"

namespace endgate {
namespace {

using testing::HasSubstr;

TEST(Trial, EndsAsEveryCommandDoes) {
  using namespace daemon;
  EXPECT_EQ(status_of_refusal("U-201", 404), kUsage);
  EXPECT_EQ(status_of_refusal("B-201", 409), kDevice) << "no contact";
  EXPECT_EQ(status_of_refusal("U-110", 409), kBusy) << "a test runs";
  EXPECT_EQ(status_of_refusal("S-120", 503), kStorage);
  EXPECT_EQ(status_of_refusal("U-112", 409), kNegative);
}

TEST(Trial, OfAnUnknownNameNamesThoseThereAreAndScansNothing) {
  const test::ScenarioCopy scenario;
  scenario.replace("service.toml", "listen_port = 8640", "listen_port = 1");  // nobody is there
  const auto trial = [&](const std::string& name) {
    return test::endgate({"trial", "north", "QH2650-1301-U", name, "--operator", "Ada", "--config",
                          scenario.path()});
  };
  ASSERT_EQ(test::endgate({"accept", scenario.path(), "--by", "Ada", "--why", "set-up"}).status, 0);
  const test::Ended unknown = trial("hour-duty");
  EXPECT_EQ(unknown.status, 2) << "no service runs here, so one that was asked would be busy";
  EXPECT_THAT(unknown.err, HasSubstr("no accepted trial \"hour-duty\"; there is: half-hour-duty"));
  EXPECT_EQ(trial("half-hour-duty").status, 6) << "this one is asked of the service";
  const test::Ended no_bench = test::endgate({"trial", "west", "QH2650-1301-U", "half-hour-duty",
                                              "--operator", "Ada", "--config", scenario.path()});
  EXPECT_EQ(no_bench.status, 2);
  EXPECT_THAT(no_bench.err, HasSubstr("There is no bench west here. There are: north south"));
}

}  // namespace
}  // namespace endgate
