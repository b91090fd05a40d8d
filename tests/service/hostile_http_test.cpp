// Raw requests that a lax reader would take.  Each must be refused with a 4xx and the connection
// closed, so that left-over bytes never become a second request.  The cases are those a plain
// parser was measured to accept or refuse (RFC 9112, sections 2.2, 3.2, 5.1, 5.2, 6.1, 6.3).

#include <gtest/gtest.h>

#include "tests/service/served.h"

namespace endgate::test {
namespace {

struct HostileCase {
  std::string name;
  std::string bytes;  // "HOST" is replaced by the right host
};

const std::string kGet = "GET /healthz HTTP/1.1\r\n";
const std::string kPost =
    "POST /api/v1/benches/pass/scan HTTP/1.1\r\nHost: HOST\r\nContent-Type: application/json\r\n";
const std::string kSecond = "GET /api/v1/benches HTTP/1.1\r\nHost: HOST\r\n\r\n";

std::string fields(int count) {
  std::string out;
  for (int i = 0; i < count; ++i) out += "A" + std::to_string(i) + ":\r\n";
  return out;
}

std::vector<HostileCase> hostile_cases() {
  return {
      {"length then chunked, second request behind",
       kPost + "Content-Length: 5\r\nTransfer-Encoding: chunked\r\n\r\n0\r\n\r\n" + kSecond},
      {"chunked then length, second request behind",
       kPost + "Transfer-Encoding: chunked\r\nContent-Length: 5\r\n\r\n0\r\n\r\n" + kSecond},
      {"gzip coding with length",
       kPost + "Transfer-Encoding: gzip\r\nContent-Length: 5\r\n\r\nabcde" + kSecond},
      {"gzip coding alone", kPost + "Transfer-Encoding: gzip\r\n\r\n"},
      {"identity coding", kPost + "Transfer-Encoding: identity\r\n\r\n"},
      {"unknown coding with length",
       kPost + "Transfer-Encoding: xchunked\r\nContent-Length: 5\r\n\r\nabcde"},
      {"chunked, identity", kPost + "Transfer-Encoding: chunked, identity\r\n\r\n0\r\n\r\n"},
      {"plain chunked", kPost + "Transfer-Encoding: chunked\r\n\r\n2\r\n{}\r\n0\r\n\r\n"},
      {"chunked in HTTP/1.0",
       "POST /api/v1/benches/pass/scan HTTP/1.0\r\nHost: HOST\r\nContent-Type: application/json\r\n"
       "Transfer-Encoding: chunked\r\n\r\n0\r\n\r\n"},
      {"two different lengths", kPost + "Content-Length: 2\r\nContent-Length: 5\r\n\r\n{}abc"},
      {"two equal lengths", kPost + "Content-Length: 2\r\nContent-Length: 2\r\n\r\n{}"},
      {"a list of lengths", kPost + "Content-Length: 5, 5\r\n\r\nabcde"},
      {"length +4", kPost + "Content-Length: +4\r\n\r\nabcd"},
      {"length -1", kPost + "Content-Length: -1\r\n\r\nabcd"},
      {"length 0x4", kPost + "Content-Length: 0x4\r\n\r\nabcd"},
      {"length 2^64", kPost + "Content-Length: 18446744073709551616\r\n\r\nabcd"},
      {"length above the limit", kPost + "Content-Length: 65537\r\n\r\n"},
      {"no length on a command", kPost + "\r\n{}"},
      {"no host", kGet + "\r\n"},
      {"two hosts", kGet + "Host: HOST\r\nHost: HOST\r\n\r\n"},
      {"a foreign host", kGet + "Host: evil.example\r\n\r\n"},
      {"a foreign host before a good one", kGet + "Host: evil.example\r\nHost: HOST\r\n\r\n"},
      {"our host on another port", kGet + "Host: 127.0.0.1:1\r\n\r\n"},
      {"a folded header line", kGet + "Host: HOST\r\nX: a\r\n b\r\n\r\n"},
      {"a space before the colon", kGet + "Host : HOST\r\n\r\n"},
      {"a NUL in a value", kGet + "Host: HOST\r\nX: a" + std::string(1, '\0') + "b\r\n\r\n"},
      {"a bare CR in a value", kGet + "Host: HOST\r\nX: a\rb\r\n\r\n"},
      {"bare LF line ends", "GET /healthz HTTP/1.1\nHost: HOST\n\n"},
      {"an absolute target", "GET http://HOST/healthz HTTP/1.1\r\nHost: HOST\r\n\r\n"},
      {"a target without a slash", "GET healthz HTTP/1.1\r\nHost: HOST\r\n\r\n"},
      {"an encoded slash", "GET /web/..%2fline.css HTTP/1.1\r\nHost: HOST\r\n\r\n"},
      {"an encoded NUL", "GET /web/line%00.css HTTP/1.1\r\nHost: HOST\r\n\r\n"},
      {"dots", "GET /web/../line.css HTTP/1.1\r\nHost: HOST\r\n\r\n"},
      {"encoded dots", "GET /web/%2e%2e/line.css HTTP/1.1\r\nHost: HOST\r\n\r\n"},
      {"broken UTF-8", "GET /units/%C0%AF HTTP/1.1\r\nHost: HOST\r\n\r\n"},
      {"half an escape", "GET /units/%4 HTTP/1.1\r\nHost: HOST\r\n\r\n"},
      {"a method in lower case", "get /healthz HTTP/1.1\r\nHost: HOST\r\n\r\n"},
      {"HTTP/1.0", "GET /healthz HTTP/1.0\r\nHost: HOST\r\n\r\n"},
      {"HTTP/9.9", "GET /healthz HTTP/9.9\r\nHost: HOST\r\n\r\n"},
      {"a tab for a space", "GET\t/healthz\tHTTP/1.1\r\nHost: HOST\r\n\r\n"},
      {"a stray empty line first", "\r\n" + kGet + "Host: HOST\r\n\r\n"},
      {"1900 empty fields", kGet + "Host: HOST\r\n" + fields(1000) + "\r\n"},
      {"65 fields", kGet + "Host: HOST\r\n" + fields(64) + "\r\n"},
      {"a header above 8 kB", kGet + "Host: HOST\r\nX: " + std::string(8200, 'x') + "\r\n\r\n"},
      {"a target above 2 kB", "GET /" + std::string(2100, 'a') + " HTTP/1.1\r\nHost: HOST\r\n\r\n"},
      {"a trailer announced", kPost + "Trailer: Authorization\r\nContent-Length: 2\r\n\r\n{}"},
      {"TE", kGet + "Host: HOST\r\nTE: trailers\r\n\r\n"},
      {"Expect", kPost + "Expect: 100-continue\r\nContent-Length: 2\r\n\r\n{}"},
      {"a body on a GET", kGet + "Host: HOST\r\nContent-Length: 2\r\n\r\n{}"},
      {"a preflight from another site",
       "OPTIONS /api/v1/benches/pass/scan HTTP/1.1\r\nHost: HOST\r\nOrigin: http://evil.example\r\n"
       "Access-Control-Request-Method: POST\r\n\r\n"},
  };
}

std::string filled(std::string text, const std::string& host) {
  for (std::size_t at = text.find("HOST"); at != std::string::npos; at = text.find("HOST", at))
    text.replace(at, 4, host);
  return text;
}

TEST(HostileHttp, IsRefusedAndTheConnectionClosed) {
  const Served served;
  for (const HostileCase& hostile : hostile_cases()) {
    RawHttp client(served.server.port());
    client.send(filled(hostile.bytes, served.host()));
    const std::string answer = client.read();
    EXPECT_GE(status_of(answer), 400) << hostile.name << "\n" << answer;
    EXPECT_LT(status_of(answer), 500) << hostile.name;
    EXPECT_TRUE(client.closed()) << hostile.name;
    EXPECT_EQ(answer.find("HTTP/1.1", 8), std::string::npos)
        << hostile.name << ": a second answer to left-over bytes";
    EXPECT_EQ(answer.find("Access-Control"), std::string::npos) << hostile.name;
  }
}

TEST(HostileHttp, NeverReachesACommand) {
  Served served;
  for (const HostileCase& hostile : hostile_cases())
    (void)served.raw(filled(hostile.bytes, served.host()));
  EXPECT_TRUE(served.application.commands().empty());
}

TEST(HostileHttp, LeavesTheServerAnsweringOthers) {
  const Served served;
  (void)served.raw(filled(hostile_cases().front().bytes, served.host()));
  EXPECT_EQ(status_of(served.get("/healthz")), 200);
}

}  // namespace
}  // namespace endgate::test
