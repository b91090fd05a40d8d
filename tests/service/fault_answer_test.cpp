#include "daemon/service/fault_answer.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <regex>

#include "daemon/log/log.h"

namespace endgate::daemon {
namespace {

using ::testing::HasSubstr;
using ::testing::Not;

std::string number_in(const std::string& body) {
  std::smatch match;
  return std::regex_search(body, match, std::regex("number ([0-9a-f]{8})")) ? match[1].str() : "";
}

TEST(FaultAnswer, GivesTheClientANumberAndTheLogTheRest) {
  ::testing::internal::CaptureStderr();
  start_log("info");
  const Response response = fault_answer("/units/{serial}", "/var/store is gone");
  stop_log();
  const std::string log = ::testing::internal::GetCapturedStderr();
  const std::string number = number_in(response.body);
  ASSERT_FALSE(number.empty()) << response.body;
  EXPECT_EQ(response.status, 500);
  EXPECT_THAT(response.body, Not(HasSubstr("store")));
  EXPECT_THAT(log, HasSubstr("fault " + number + " at /units/{serial}: /var/store is gone"));
}

TEST(FaultAnswer, NumbersEachFaultAnew) {
  EXPECT_NE(number_in(fault_answer("/", "a").body), number_in(fault_answer("/", "a").body));
}

}  // namespace
}  // namespace endgate::daemon
