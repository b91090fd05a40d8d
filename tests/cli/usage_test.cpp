#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "tests/cli/command.h"

namespace endgate {
namespace {

using test::Ended;
using testing::HasSubstr;
using testing::StartsWith;

TEST(Usage, HelpAndVersionEndWell) {
  const Ended version = test::endgate({"--version"});
  EXPECT_EQ(version.status, 0);
  EXPECT_THAT(version.out, StartsWith("endgate "));
  const Ended help = test::endgate({"--help"});
  EXPECT_EQ(help.status, 0);
  for (const char* command :
       {"run",    "check",   "accept",    "history",     "trend",   "verify",     "replay",
        "export", "import",  "calibrate", "check-bench", "alarms",  "capability", "control",
        "yield",  "what-if", "backup",    "restore",     "rejudge", "moved"})
    EXPECT_THAT(help.out, HasSubstr(std::string("\n  ") + command)) << command;
  EXPECT_THAT(help.out, HasSubstr("70 internal"));
}

TEST(Usage, WrongWordsEndWithTwoWhateverTheyAre) {
  EXPECT_EQ(test::endgate({}).status, 2);
  EXPECT_EQ(test::endgate({"check"}).status, 2);
  EXPECT_EQ(test::endgate({"check", "--config", "x", "--fast"}).status, 2);
  EXPECT_EQ(test::endgate({"history"}).status, 2);
  EXPECT_EQ(test::endgate({"accept", "x", "--by", "Ada"}).status, 2);
  EXPECT_EQ(test::endgate({"trend", "fad_400", "--model", "M", "--count", "-1"}).status, 2);
  EXPECT_EQ(test::endgate({"export", "--data", "x"}).status, 2);
  EXPECT_EQ(test::endgate({"replay"}).status, 2);
}

TEST(Usage, AMisspelledCommandNamesTheNearest) {
  const Ended ended = test::endgate({"chekc", "--config", "x"});
  EXPECT_EQ(ended.status, 2);
  EXPECT_EQ(ended.err, "endgate: there is no command \"chekc\"; did you mean \"check\"?\n");
}

TEST(Usage, AStoreThatIsNotThereIsAStorageFault) {
  const Ended ended = test::endgate({"history", "QH2648-0001-A", "--data", "/nowhere/at/all"});
  EXPECT_EQ(ended.status, 5);
  EXPECT_THAT(ended.err, HasSubstr("/nowhere/at/all"));
  EXPECT_EQ(ended.out, "");
}

TEST(Usage, WithoutAFolderTheCommandSaysHowToNameOne) {
  const Ended ended = test::endgate({"history", "QH2648-0001-A"});
  EXPECT_EQ(ended.status, 3);
  EXPECT_THAT(ended.err, HasSubstr("--data DIR or --config DIR"));
  EXPECT_THAT(test::endgate({"verify", "--config", "/nowhere"}).err,
              HasSubstr("/nowhere/service.toml: expected a readable file"));
}

}  // namespace
}  // namespace endgate
