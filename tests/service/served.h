// A server over hand-made states, and one-line requests to it.

#pragma once

#include <string>
#include <utility>

#include "daemon/service/http_server.h"
#include "tests/support/fake_application.h"
#include "tests/support/raw_http.h"
#include "tests/support/sample_lines.h"

namespace endgate::test {

struct Served {
  FakeApplication application;
  daemon::HttpServer server;

  explicit Served(
      const std::string& store_folder = "", const daemon::HttpSettings& settings = {},
      daemon::TellStray stray = [](const std::string&) {})
      : application(store_folder), server(settings, application, std::move(stray)) {
    for (const char* look : {"free", "pass"}) application.set(sample_line(look));
  }
  [[nodiscard]] std::string host() const { return "127.0.0.1:" + std::to_string(server.port()); }

  // The whole answer to these bytes; the connection is read until it closes.
  [[nodiscard]] std::string raw(const std::string& bytes) const {
    RawHttp client(server.port());
    client.send(bytes);
    return client.read();
  }
  [[nodiscard]] std::string get(const std::string& target, const std::string& more = "") const {
    return raw("GET " + target + " HTTP/1.1\r\nHost: " + host() + "\r\nConnection: close\r\n" +
               more + "\r\n");
  }
  [[nodiscard]] std::string post(const std::string& target, const std::string& body,
                                 const std::string& more = "",
                                 const std::string& type = "application/json") const {
    return raw("POST " + target + " HTTP/1.1\r\nHost: " + host() + "\r\nContent-Type: " + type +
               "\r\nConnection: close\r\nContent-Length: " + std::to_string(body.size()) + "\r\n" +
               more + "\r\n" + body);
  }
};

}  // namespace endgate::test
