// What the unit file must say so that a plant comes back after an upgrade.

#include <gtest/gtest.h>

#include <fstream>
#include <set>
#include <string>

namespace endgate::tests {
namespace {

std::set<std::string> lines_of_unit_file() {
  std::ifstream in(std::string(ENDGATE_SOURCE_DIR) + "/daemon/install/endgate.service");
  std::set<std::string> lines;
  for (std::string line; std::getline(in, line);) lines.insert(line);
  return lines;
}

// A migration ends before the service is ready and may outlast any default: one that is killed is
// rolled back and begins anew, for ever.  systemd.service(5), TimeoutStartSec=.
TEST(ServiceUnit, AMigrationMayTakeAsLongAsItTakes) {
  const auto lines = lines_of_unit_file();
  ASSERT_TRUE(lines.contains("Type=notify"));
  EXPECT_TRUE(lines.contains("TimeoutStartSec=infinity"));
}

}  // namespace
}  // namespace endgate::tests
