// Is every analysis reachable by API, by command and on a page?  A new route that answers a question
// has to be entered here with the other two ways to it.

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <set>

#include "daemon/service/routes.h"
#include "tests/cli/command.h"

namespace endgate {
namespace {

using testing::HasSubstr;

struct Analysis {
  const char* name;
  const char* route;
  std::vector<std::string> command;
  const char* option;  // empty: the command itself
  const char* page;
  const char* words;  // of the files behind the page that tell it; empty: the page is of it alone
};

const std::vector<Analysis> kAnalyses{
    {"life of a unit, against its birth, earlier returns",
     "/api/v1/units/{serial}",
     {"history"},
     "",
     "/units/{serial}",
     "with_birth"},
    {"tests of one metric", "/api/v1/trend", {"trend"}, "--count", "/trends", "unit_trend_page"},
    {"batches, control charts, levels, causes, product or bench",
     "/api/v1/trend/batches",
     {"trend"},
     "--causes",
     "/trends",
     "batch_trend_page"},
    {"several metrics together",
     "/api/v1/trend/together",
     {"trend"},
     "--together",
     "/trends",
     "together_of"},
    {"frozen control limits", "/api/v1/control", {"control", "list"}, "", "/control", ""},
    {"capability and proposal",
     "/api/v1/capability",
     {"capability"},
     "",
     "/population",
     "capability_of"},
    {"yield, stops, reasons, causes",
     "/api/v1/yield",
     {"yield"},
     "",
     "/population",
     "fail_causes_of"},
    {"returns, agreement of causes",
     "/api/v1/returns",
     {"returns"},
     "",
     "/population",
     "cause_agreement_of"},
    {"other limits", "/api/v1/what-if", {"what-if"}, "", "/population", "what_if"},
    {"limits over time", "/api/v1/limits", {"limits"}, "", "/limits", ""},
    {"risk of a whole unit", "/api/v1/risk", {"risk"}, "", "/risk", ""},
    {"gauge study", "/api/v1/gauge", {"gauge"}, "", "/gauge", ""},
    {"rating curve", "/api/v1/rating", {"rating"}, "", "/rating", ""},
    {"units side by side", "/api/v1/compare", {"compare"}, "", "/compare", ""},
    {"endurance", "/api/v1/endurance", {"endurance"}, "", "/endurance", ""},
    {"lot to units", "/api/v1/lots/{lot}", {"where"}, "", "/lots/{lot}", ""},
    {"lot with a slash to units", "/api/v1/lots", {"where"}, "", "/lots", ""},
    {"results as files", "/api/v1/export", {"export"}, "", "/units", "units_page_of"},
    {"alarms", "/api/v1/alarms", {"alarms"}, "", "/alarms", ""},
};

// Routes that answer with what is now, or with one stored thing: no analyses.
const std::set<std::string> kNoAnalysis{"/api/v1/live",
                                        "/api/v1/health",
                                        "/api/v1/benches",
                                        "/api/v1/benches/{bench}",
                                        "/api/v1/benches/{bench}/checks",
                                        "/api/v1/units/{serial}/standing",
                                        "/api/v1/units/{serial}/{attempt}",
                                        "/api/v1/units/{serial}/{attempt}/trace"};

bool is_served(const std::string& pattern) {
  return std::ranges::any_of(daemon::routes(), [&](const daemon::Route& route) {
    return route.method == "GET" && route.pattern == pattern;
  });
}

std::string pages_source() {
  std::string text;
  for (const char* file : {"pages.cpp", "pages_statistics.cpp"}) {
    std::ifstream in(std::string(ENDGATE_SOURCE_DIR) + "/daemon/service/" + file);
    text.append(std::istreambuf_iterator<char>(in), {});
  }
  return text;
}

TEST(EveryAnalysis, IsReachableByApiByCommandAndOnAPage) {
  const std::string pages = pages_source();
  for (const Analysis& analysis : kAnalyses) {
    EXPECT_TRUE(is_served(analysis.route)) << analysis.name << ": no route " << analysis.route;
    EXPECT_TRUE(is_served(analysis.page)) << analysis.name << ": no page " << analysis.page;
    EXPECT_THAT(pages, HasSubstr(analysis.words)) << analysis.name << ": not on its page";
    std::vector<std::string> help = analysis.command;
    help.emplace_back("--help");
    const test::Ended ended = test::endgate(help);
    EXPECT_EQ(ended.status, 0) << analysis.name << ": no command " << analysis.command.front();
    EXPECT_THAT(ended.out, HasSubstr(analysis.option)) << analysis.name;
  }
}

TEST(EveryAnalysis, NoRouteOfTheApiAnswersAQuestionThatIsNotInTheTable) {
  std::set<std::string> known = kNoAnalysis;
  for (const Analysis& analysis : kAnalyses) known.insert(analysis.route);
  for (const daemon::Route& route : daemon::routes()) {
    if (route.method != "GET" || !route.pattern.starts_with("/api/")) continue;
    EXPECT_TRUE(known.contains(std::string(route.pattern)))
        << route.pattern << " is in no row: by which command and on which page is it told?";
  }
}

}  // namespace
}  // namespace endgate
