// What did a client ask, and what is it answered?  Plain values between Beast and the routes.

#pragma once

#include <functional>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

namespace endgate::daemon {

// As parsed, before the body is read.
struct RequestHead {
  std::string method{};
  std::string target{};
  int version = 11;
  std::vector<std::pair<std::string, std::string>> fields{};  // names in lower case

  [[nodiscard]] std::size_t count(std::string_view name) const;
  [[nodiscard]] std::string value(std::string_view name) const;  // empty when absent
};

struct Request {
  RequestHead head{};
  std::vector<std::string> path{};             // decoded segments: "/line/north" -> line, north
  std::map<std::string, std::string> query{};  // decoded; the first of a name counts
  std::string body{};
  std::map<std::string, std::string> parameters{};  // from the route's pattern
};

struct Response {
  int status = 200;
  std::string content_type = "application/json";
  std::string body{};
  std::string_view fixed_body{};  // instead of `body`, when it lives as long as the program
  std::string etag{};
  std::string cache_control = "no-store";
  std::string allow{};      // of a 405
  std::string file_name{};  // a browser is to keep it under this name
  int retry_after_s = 0;
  bool close = false;
  std::optional<std::string> live_bench{};  // answer with the live feed; empty: of every bench
};

// May be called once, on any thread.
using Reply = std::function<void(Response)>;

// {"code": "...", "error": "..."}: what happened and what to do, for a person.
[[nodiscard]] Response refusal(int status, std::string_view code, std::string_view sentence);

}  // namespace endgate::daemon
