#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/cli/command.h"

namespace endgate {
namespace {

using testing::HasSubstr;

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
}

}  // namespace
}  // namespace endgate
