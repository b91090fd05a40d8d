// What the page and the API are told of a unit that may be under pressure.

#include <gmock/gmock.h>

#include "tests/service/served.h"

namespace endgate::test {
namespace {

using testing::HasSubstr;

daemon::LineState pressed(const char* look) {
  daemon::LineState line = sample_line(look);
  line.bench = "north";
  line.live.may_be_under_pressure = true;
  line.live.values[0].value_si = 412e3;
  return line;
}

TEST(UnderPressurePage, SaysItToThePageThatListens) {
  Served served;
  served.application.set(pressed("pass"));
  RawHttp page(served.server.port());
  page.send("GET /api/v1/live?bench=north HTTP/1.1\r\nHost: " + served.host() + "\r\n\r\n");
  const std::string said = page.read("event: picture");
  EXPECT_THAT(said, HasSubstr("Do not touch the unit or its hoses. Call maintenance."));
  EXPECT_THAT(said, HasSubstr("412\u00A0kPa gauge are read"));
  EXPECT_THAT(said, testing::Not(HasSubstr("Take the unit off")));
}

TEST(UnderPressurePage, SaysItToPrograms) {
  Served served;
  served.application.set(pressed("free"));
  EXPECT_THAT(served.get("/api/v1/benches/north"), HasSubstr("\"may_be_under_pressure\":true"));
  daemon::LineState line = sample_line("running");
  line.bench = "north";
  line.live.making_safe = true;
  line.notices = {"R1 is due."};
  served.application.set(line);
  const std::string answer = served.get("/api/v1/benches/north");
  EXPECT_THAT(answer, HasSubstr("\"making_safe\":true"));
  EXPECT_THAT(answer, HasSubstr("\"notices\":[\"R1 is due.\"]"));
}

}  // namespace
}  // namespace endgate::test
