#include "daemon/links/recorded_run_link.h"

#include <gmock/gmock.h>

#include <boost/asio/executor_work_guard.hpp>
#include <fstream>

#include "daemon/links/scpi_dialogue.h"
#include "tests/links/link_test.h"
#include "tests/support/temporary_folder.h"

namespace endgate::daemon {
namespace {

using namespace std::chrono_literals;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using ::testing::SizeIs;

class RecordedRunLinkTest : public LinkTest {
 protected:
  test::TemporaryFolder folder;
  // Nothing is outstanding while nobody asks, as there is with a socket.
  boost::asio::executor_work_guard<boost::asio::io_context::executor_type> alive{io.get_executor()};

  [[nodiscard]] std::filesystem::path file() const { return folder.path() / "run.csv"; }
  void put(const std::string& text) const { std::ofstream(file(), std::ios::binary) << text; }

  [[nodiscard]] RecordedRunSettings settings(double rate = 1) const {
    RecordedRunSettings settings;
    settings.device = "run";
    settings.file = file().string();
    settings.rate = rate;
    settings.columns = {"flow", "supply_current"};
    settings.commands = {"motor_relay"};
    settings.reconnect_first = 5ms;
    return settings;
  }
  void play(double rate = 1) { open(make_recorded_run_link(io.get_executor(), settings(rate))); }

  double column(std::uint16_t number) {
    const ReadAnswer answer = read({{4, static_cast<std::uint16_t>(4 * number), 4}});
    return answer.error ? -1 : number_of_words(answer.spans.at(0).words);
  }
  std::uint32_t played_us() {
    const std::vector<std::uint16_t> words = read({{3, 0, 2}}).spans.at(0).words;
    return static_cast<std::uint32_t>(words.at(0)) << 16 | words.at(1);
  }
};

const std::string kOffThenOn =
    "time_s,supply_current,set_motor_relay,flow\n0,0.1,0,1e-5\n0.1,0.2,0,2e-5\n10,8,1,3e-4\n"
    "20,9,1,4e-4\n";

TEST_F(RecordedRunLinkTest, ColumnsAreNumbersInTheOrderAskedFor) {
  put(kOffThenOn);
  play();
  until_open();
  EXPECT_DOUBLE_EQ(column(0), 1e-5);
  EXPECT_DOUBLE_EQ(column(1), 0.1);
  const ReadAnswer both = read({{4, 0, 8}, {4, 4, 8}});
  EXPECT_THAT(both.spans[0].words, SizeIs(8));
  EXPECT_NE(both.spans[1].exception, 0) << "one column of two is not there";
}

TEST_F(RecordedRunLinkTest, ACommandIsObeyed) {
  put(kOffThenOn);
  play();
  until_open();
  EXPECT_FALSE(write({0, words_of_number(1)}).has_value());
  EXPECT_DOUBLE_EQ(column(1), 8);
  const auto refused = write({1, words_of_number(1)});
  ASSERT_TRUE(refused.has_value());
  EXPECT_EQ(refused->kind, LinkError::Kind::refused);
}

TEST_F(RecordedRunLinkTest, ItsTimeRunsAtItsRate) {
  put(kOffThenOn);
  play(10);
  until_open();
  const auto before = std::chrono::steady_clock::now();
  const std::uint32_t first = played_us();
  const auto between = std::chrono::steady_clock::now();
  while (std::chrono::steady_clock::now() < between + 20ms) io.run_one_for(1ms);
  const std::uint32_t second = played_us();
  const std::chrono::duration<double, std::micro> at_most =
      std::chrono::steady_clock::now() - before;
  EXPECT_GE(second - first, 10u * 20'000u);
  EXPECT_LE(second - first, 10 * at_most.count());
}

TEST_F(RecordedRunLinkTest, AFileThatCannotBePlayedKeepsItClosedAndIsTriedAgain) {
  play();
  until([this] { return !losses.empty(); });
  EXPECT_THAT(losses[0].text, HasSubstr("run.csv: it cannot be read"));
  EXPECT_FALSE(link->is_open());
  EXPECT_TRUE(write({0, words_of_number(0)}).has_value()) << "nothing is obeyed by a closed link";
  put(kOffThenOn);
  until_open();
  EXPECT_EQ(openings, 1);
}

TEST_F(RecordedRunLinkTest, SaysBeforehandWhatTheFileLacks) {
  put(kOffThenOn);
  EXPECT_THAT(why_not_played(settings()), IsEmpty());
  put("time_s,flow,set_motor_relay\n0,1,0\n");
  EXPECT_EQ(why_not_played(settings()), "it has no column supply_current");
}

}  // namespace
}  // namespace endgate::daemon
