#include <gmock/gmock.h>

#include <future>
#include <thread>

#include "daemon/service/routes.h"
#include "tests/service/served.h"

namespace endgate::test {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::Not;

const std::string kScan = "/api/v1/benches/pass/scan";

TEST(HttpServer, SendsThePolicyAndNoCrossOriginPermissionWithEveryAnswer) {
  const Served served;
  for (const char* target : {"/", "/web/line.css", "/api/v1/benches", "/nothing"}) {
    const std::string answer = served.get(target);
    EXPECT_THAT(answer, HasSubstr("Content-Security-Policy: default-src 'none'; script-src 'self'; "
                                  "style-src 'self'; font-src 'self'; img-src 'self'; connect-src "
                                  "'self'; require-trusted-types-for 'script'; "
                                  "frame-ancestors 'none'"));
    EXPECT_THAT(answer, HasSubstr("X-Content-Type-Options: nosniff"));
    EXPECT_THAT(answer, Not(HasSubstr("Access-Control")));
  }
}

TEST(HttpServer, AnswersUnknownAddressesWith404AndWrongMethodsWith405) {
  const Served served;
  EXPECT_EQ(status_of(served.get("/nothing")), 404);
  EXPECT_EQ(status_of(served.get("/web/no.css")), 404);
  EXPECT_EQ(status_of(served.get("/line/nowhere")), 404);
  EXPECT_EQ(status_of(served.get("/api/v1/benches/nowhere")), 404);
  const std::string wrong = served.get("/api/v1/benches/pass/stop");
  EXPECT_EQ(status_of(wrong), 405);
  EXPECT_THAT(wrong, HasSubstr("Allow: POST"));
  EXPECT_EQ(status_of(served.raw("TRACE / HTTP/1.1\r\nHost: " + served.host() +
                                 "\r\nConnection: close\r\n\r\n")),
            405);
}

TEST(HttpServer, EveryRouteAnswersSomethingElseThan404ToItsOwnPattern) {
  for (const daemon::Route& route : daemon::routes()) {
    daemon::Request request;
    request.head.method = route.method;
    for (std::size_t at = 0; (at = route.pattern.find('/', at)) != std::string_view::npos; ++at) {
      const std::size_t end = std::min(route.pattern.find('/', at + 1), route.pattern.size());
      if (end > at + 1) request.path.emplace_back(route.pattern.substr(at + 1, end - at - 1));
    }
    EXPECT_EQ(daemon::find_route(request), &route) << route.pattern;
  }
}

TEST(HttpServer, TakesABenchOverForSomebodyWithAReason) {
  Served served;
  const std::string target = "/api/v1/benches/pass/take";
  EXPECT_EQ(status_of(served.post(target, R"({"by":"Ada"})")), 400);
  EXPECT_EQ(status_of(served.post("/api/v1/benches/nowhere/take", R"({"by":"Ada","why":"x"})")),
            404);
  EXPECT_TRUE(served.application.commands().empty());
  const std::string taken = served.post(target, R"({"by":"Ada","why":"its PC is scrapped"})");
  EXPECT_EQ(status_of(taken), 200) << taken;
  EXPECT_THAT(served.application.commands(), ElementsAre("take pass Ada: its PC is scrapped"));
}

TEST(HttpServer, KeepsAConnectionForTheNextRequest) {
  const Served served;
  RawHttp client(served.server.port());
  const std::string request = "GET /healthz HTTP/1.1\r\nHost: " + served.host() + "\r\n\r\n";
  for (int i = 0; i < 3; ++i) {
    client.send(request);
    EXPECT_EQ(status_of(client.read("live")), 200);
  }
  client.send(request + request);  // two at once are answered one after the other
  client.finish_sending();
  const std::string both = client.read();
  EXPECT_NE(both.find("HTTP/1.1 200", 5), std::string::npos);
}

TEST(HttpServer, TakesARequestThatArrivesByteByByte) {
  const Served served;
  RawHttp client(served.server.port());
  const std::string request = "POST " + kScan + " HTTP/1.1\r\nHost: " + served.host() +
                              "\r\nContent-Type: application/json\r\nContent-Length: 15\r\n"
                              "Connection: close\r\n\r\n{\"serial\":\"QH\"}";
  for (const char byte : request) client.send(std::string(1, byte));
  EXPECT_EQ(status_of(client.read()), 200);
}

TEST(HttpServer, TakesHeadersTargetsAndBodiesUpToTheirLimitAndNotOneMore) {
  const Served served;
  const auto get_of_size = [&](std::size_t size) {
    std::string head =
        "GET /healthz HTTP/1.1\r\nHost: " + served.host() + "\r\nConnection: close\r\nX: ";
    return head + std::string(size - head.size() - 4, 'x') + "\r\n\r\n";
  };
  EXPECT_EQ(status_of(served.raw(get_of_size(8192))), 200);
  EXPECT_EQ(status_of(served.raw(get_of_size(8193))), 431);
  EXPECT_EQ(status_of(served.get("/" + std::string(2047, 'a'))), 404);
  EXPECT_EQ(status_of(served.get("/" + std::string(2048, 'a'))), 414);
  const std::string text(65536 - 57, 'a');
  const std::string body = R"({"file_name":"a","by":"b","why":"c","text":")" + text + "\"}";
  ASSERT_LE(body.size(), 65536U);
  EXPECT_EQ(status_of(served.post("/api/v1/accept", body + std::string(65536 - body.size(), ' '))),
            200);
  EXPECT_EQ(status_of(served.post("/api/v1/accept", std::string(65537, ' '))), 413);
}

TEST(HttpServer, TakesCommandsAsJsonOnly) {
  Served served;
  const std::string body = R"({"serial":"QH2648-0117-K","batch":"48-B2","operator":"12"})";
  EXPECT_EQ(status_of(served.post(kScan, body, "", "text/plain")), 415);
  EXPECT_EQ(status_of(served.post(kScan, body, "", "application/x-www-form-urlencoded")), 415);
  EXPECT_EQ(status_of(served.post(kScan, body)), 200);
  EXPECT_THAT(served.application.commands(), ElementsAre("scan pass QH2648-0117-K 48-B2 12"));
}

TEST(HttpServer, RefusesCommandsThatAnotherSiteMadeABrowserSend) {
  Served served;
  const std::string body = R"({"serial":"QH"})";
  const std::string stop = "/api/v1/benches/pass/stop";
  for (const std::string field :
       {"Origin: http://evil.example", "Origin: null", "Origin: https://127.0.0.1",
        "Sec-Fetch-Site: cross-site", "Sec-Fetch-Site: same-site"}) {
    EXPECT_EQ(status_of(served.post(kScan, body, field + "\r\n")), 403) << field;
    EXPECT_EQ(status_of(served.post(stop, "{}", field + "\r\n")), 403) << field;
  }
  EXPECT_TRUE(served.application.commands().empty());
  const std::string own = "Origin: http://" + served.host() + "\r\n";
  EXPECT_EQ(status_of(served.post(kScan, body, own)), 200);
  EXPECT_EQ(status_of(served.post(kScan, body, "Sec-Fetch-Site: same-origin\r\n")), 200);
}

TEST(HttpServer, AnswersForItsOwnNamesOnly) {
  const Served served;
  const std::string port = std::to_string(served.server.port());
  const auto status = [&](const std::string& host) {
    return status_of(
        served.raw("GET /healthz HTTP/1.1\r\nHost: " + host + "\r\nConnection: close\r\n\r\n"));
  };
  for (const std::string name : {"127.0.0.1:", "localhost:", "[::1]:"})
    EXPECT_EQ(status(name + port), 200) << name;
  for (const std::string& name :
       {std::string("evil.example:") + port, std::string("localhost"), "localhost:" + port + "0"})
    EXPECT_EQ(status(name), 421) << name;
}

TEST(HttpServer, StopsWhateverTheBodySays) {
  Served served;
  const std::string stop = "/api/v1/benches/pass/stop";
  EXPECT_EQ(status_of(served.post(stop, R"({"operator":"12"})")), 200);
  EXPECT_EQ(status_of(served.post(stop, "not json")), 200);
  EXPECT_EQ(status_of(served.post(stop, "")), 200);
  EXPECT_THAT(served.application.commands(),
              ElementsAre("stop pass 12", "stop pass a person", "stop pass a person"));
}

TEST(HttpServer, LimitsHowOftenAnAddressMaySendButNeverStop) {
  Served served;
  RawHttp client(served.server.port());
  int refused = 0;
  const std::string body = R"({"serial":"QH"})";
  for (int i = 0; i < 120; ++i) {
    client.send("POST " + kScan + " HTTP/1.1\r\nHost: " + served.host() +
                "\r\nContent-Type: application/json\r\nContent-Length: " +
                std::to_string(body.size()) + "\r\n\r\n" + body);
    if (status_of(client.read("}")) == 429) ++refused;
  }
  EXPECT_GT(refused, 0);
  for (int i = 0; i < 60; ++i)
    ASSERT_EQ(status_of(served.post("/api/v1/benches/pass/stop", "{}")), 200);
}

TEST(HttpServer, StillTakesStopWhenAllOrdinaryConnectionsAreTaken) {
  Served served;
  std::vector<std::unique_ptr<RawHttp>> idle;
  for (int i = 0; i < 24; ++i) {
    idle.push_back(std::make_unique<RawHttp>(served.server.port()));
    idle.back()->send("GET /healthz HTTP/1.1\r\nHost: " + served.host() + "\r\n\r\n");
    ASSERT_EQ(status_of(idle.back()->read("live")), 200);
  }
  EXPECT_EQ(status_of(served.get("/healthz")), 503);
  EXPECT_EQ(status_of(served.post("/api/v1/benches/pass/stop", "{}")), 200);
}

TEST(HttpServer, StillTakesStopWhenIdleConnectionsHoldTheReservedPlacesToo) {
  Served served;
  std::vector<std::unique_ptr<RawHttp>> idle;
  for (int i = 0; i < 80; ++i) idle.push_back(std::make_unique<RawHttp>(served.server.port()));
  EXPECT_EQ(status_of(served.post("/api/v1/benches/pass/stop", "{}")), 200);
  EXPECT_EQ(status_of(served.get("/healthz")), 503) << "and nothing but Stop";
}

TEST(HttpServer, ClosesAClientThatDripsItsHeader) {
  const Served served;
  RawHttp client(served.server.port());
  std::string answer;
  for (int i = 0; i < 60 && !client.closed(); ++i) {
    client.send("G");
    answer += client.read("\x01never", std::chrono::milliseconds(200));
  }
  EXPECT_TRUE(client.closed());
}

TEST(HttpServer, PassesARefusalOnInItsOwnWords) {
  const Served served;
  const std::string answer = served.post(kScan, R"({"serial":"bad"})");
  EXPECT_EQ(status_of(answer), 409);
  EXPECT_EQ(body_of(answer), R"({"code":"U-101","error":"Read \"bad\". Scan again."})");
}

TEST(HttpServer, SaysNothingOfItsInsidesWhenTheStoreCannotBeRead) {
  const Served served("/nowhere/secret-folder");
  for (const char* target : {"/units", "/units/QH", "/trends", "/api/v1/units/QH",
                             "/api/v1/units/QH/standing", "/api/v1/trend?model=a&metric=fad_400"}) {
    const std::string answer = served.get(target);
    EXPECT_EQ(status_of(answer), 503) << target;
    EXPECT_THAT(answer, Not(HasSubstr("secret-folder"))) << target;
    EXPECT_THAT(answer, Not(HasSubstr("sqlite"))) << target;
  }
}

TEST(HttpServer, ServesItsFilesWithTheirTypeAndAnswers304ToTheirTag) {
  const Served served;
  const std::string css = served.get("/web/tokens.css");
  EXPECT_THAT(css, HasSubstr("Content-Type: text/css; charset=utf-8"));
  const std::size_t at = css.find("ETag: ") + 6;
  const std::string tag = css.substr(at, css.find("\r\n", at) - at);
  EXPECT_EQ(tag.size(), 66U);  // a SHA-256 in quotes
  const std::string again = served.get("/web/tokens.css", "If-None-Match: " + tag + "\r\n");
  EXPECT_EQ(status_of(again), 304);
  EXPECT_EQ(body_of(again), "");
}

TEST(HttpServer, IsHealthyOrSaysWhyNot) {
  Served served;
  EXPECT_EQ(status_of(served.get("/readyz")), 200);
  served.application.health_.ready = false;
  served.application.health_.reasons = {"storage is full"};
  EXPECT_EQ(status_of(served.get("/healthz")), 200);
  const std::string answer = served.get("/readyz");
  EXPECT_EQ(status_of(answer), 503);
  EXPECT_THAT(answer, HasSubstr("storage is full"));
}

// Machines are told as plainly as the page tells people.
TEST(HttpServer, ALostBenchHasAPhaseAndIsNotReady) {
  Served served;
  daemon::LineState line = sample_line("lost");
  line.bench = "north";
  served.application.set(line);
  EXPECT_THAT(served.get("/api/v1/benches/north"), HasSubstr("\"phase\":\"no_contact\""));
  const std::string answer = served.get("/readyz");
  EXPECT_EQ(status_of(answer), 503);
  EXPECT_THAT(answer, HasSubstr("Bench north: nothing is heard of it during its test."));
}

TEST(HttpServer, EndsWhileClientsListenAndAnswersAreOutstanding) {
  auto served = std::make_unique<Served>();
  RawHttp listening(served->server.port()), asking(served->server.port());
  listening.send("GET /api/v1/live HTTP/1.1\r\nHost: " + served->host() + "\r\n\r\n");
  EXPECT_THAT(listening.read("event: picture"), HasSubstr("event: line"));
  served->application.never_answer();
  asking.send(
      "POST " + kScan + " HTTP/1.1\r\nHost: " + served->host() +
      "\r\nContent-Type: application/json\r\nContent-Length: 15\r\n\r\n{\"serial\":\"QH\"}");
  std::this_thread::sleep_for(std::chrono::milliseconds(50));
  served.reset();
  (void)listening.read();
  EXPECT_TRUE(listening.closed());
}

// An exception that nobody awaited on the thread that serves: it is told, and Stop still gets
// through until the service has ended.
TEST(HttpServer, TellsAStrayExceptionAndServesOn) {
  std::promise<std::string> told;
  const Served served("", {}, [&](const std::string& what) { told.set_value(what); });
  served.server.on_thread()([] { throw std::runtime_error("a page nobody thought of"); });
  EXPECT_EQ(told.get_future().get(), "a page nobody thought of");
  EXPECT_THAT(served.get("/api/v1/benches"), HasSubstr(" 200 "));
}

TEST(HttpServer, ItsSignOfLifeOutlivesIt) {
  auto served = std::make_unique<Served>();
  const auto on_thread = served->server.on_thread();
  std::promise<void> turns;
  on_thread([&] { turns.set_value(); });
  turns.get_future().wait();
  served.reset();
  on_thread([] { FAIL() << "ran on a thread that has ended"; });
}

TEST(HttpServer, NamesTheAddressItCannotListenOn) {
  Served served;
  try {
    const daemon::HttpServer second({.address = "127.0.0.1", .port = served.server.port()},
                                    served.application);
    FAIL() << "two servers on one port";
  } catch (const std::system_error& fault) {
    EXPECT_THAT(fault.what(), HasSubstr("127.0.0.1:" + std::to_string(served.server.port())));
  }
}

}  // namespace
}  // namespace endgate::test
