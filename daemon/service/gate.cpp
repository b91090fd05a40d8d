#include "daemon/service/gate.h"

#include <algorithm>

#include "daemon/service/head_scan.h"

namespace endgate::daemon {
namespace {

Response closing(int status, std::string_view code, std::string_view sentence) {
  Response response = refusal(status, code, sentence);
  response.close = true;
  return response;
}

bool all_digits(const std::string& text) {
  return !text.empty() && text.size() < 10 &&
         std::all_of(text.begin(), text.end(), [](char c) { return c >= '0' && c <= '9'; });
}

std::optional<Response> framing_refused(const RequestHead& head) {
  for (const char* name : {"transfer-encoding", "te", "trailer"})
    if (head.count(name) > 0)
      return closing(400, "N-401", "Chunked bodies are not taken. Send a Content-Length instead.");
  if (head.count("content-length") > 1)
    return closing(400, "N-402", "The request has more than one Content-Length.");
  if (head.count("content-length") == 1 && !all_digits(head.value("content-length")))
    return closing(400, "N-403", "The Content-Length is not a plain number.");
  if (head.version != 11) return closing(400, "N-404", "Only version 1.1 of HTTP is spoken here.");
  if (head.fields.size() > kFieldLimit)
    return closing(431, "N-405", "The request has more than 64 header fields.");
  if (head.count("expect") > 0)
    return closing(417, "N-406", "Expect is not supported. Send the body at once.");
  return std::nullopt;
}

std::optional<Response> target_refused(const RequestHead& head) {
  if (head.target.size() > kTargetLimit)
    return closing(414, "N-407", "The address is longer than 2048 bytes.");
  if (head.target.empty() || head.target.front() != '/')
    return closing(400, "N-408", "The address must begin with a slash.");
  return std::nullopt;
}

std::optional<Response> host_refused(const RequestHead& head,
                                     const std::vector<std::string>& hosts) {
  if (head.count("host") != 1)
    return closing(400, "N-409", "A request names its host exactly once.");
  if (std::find(hosts.begin(), hosts.end(), head.value("host")) == hosts.end())
    return closing(421, "N-410", "This service does not answer for that host name.");
  return std::nullopt;
}

bool from_own_page(const RequestHead& head, const std::vector<std::string>& hosts) {
  if (const std::string site = head.value("sec-fetch-site"); !site.empty())
    return site == "same-origin" || site == "none";
  if (head.count("origin") == 0) return true;  // not a browser
  const std::string origin = head.value("origin");
  return std::any_of(hosts.begin(), hosts.end(),
                     [&](const std::string& host) { return origin == "http://" + host; });
}

bool is_json(const std::string& content_type) {
  return content_type == "application/json" || content_type == "application/json; charset=utf-8" ||
         content_type == "application/json;charset=utf-8" ||
         content_type == "application/json; charset=UTF-8" ||
         content_type == "application/json;charset=UTF-8";
}

std::optional<Response> change_refused(const RequestHead& head,
                                       const std::vector<std::string>& hosts) {
  if (!from_own_page(head, hosts))
    return closing(403, "N-411", "Another site's page may not send commands to this service.");
  if (!is_json(head.value("content-type")))
    return closing(415, "N-412", "Commands are sent as application/json.");
  if (head.count("content-length") == 0)
    return closing(411, "N-413", "A command needs a Content-Length.");
  const bool is_import = head.target == kImportTarget || head.target == kImportLotsTarget;
  const std::size_t limit = is_import ? kImportBodyLimit : kBodyLimit;
  if (std::stoul(head.value("content-length")) > limit)
    return closing(413, "N-414", "The body is longer than " + std::to_string(limit) + " bytes.");
  return std::nullopt;
}

}  // namespace

std::vector<std::string> allowed_hosts(const std::string& address, std::uint16_t port) {
  std::vector<std::string> hosts;
  const bool v6 = address.find(':') != std::string::npos;
  for (const std::string& name : {v6 ? "[" + address + "]" : address, std::string("localhost"),
                                  std::string("127.0.0.1"), std::string("[::1]")}) {
    hosts.push_back(name + ":" + std::to_string(port));
    if (port == 80) hosts.push_back(name);
  }
  return hosts;
}

std::optional<Response> refused_by_gate(const RequestHead& head,
                                        const std::vector<std::string>& hosts) {
  if (auto refused = framing_refused(head)) return refused;
  if (auto refused = target_refused(head)) return refused;
  if (auto refused = host_refused(head, hosts)) return refused;
  if (head.method == "OPTIONS")
    return closing(403, "N-415", "This service shares nothing with pages of other sites.");
  if (head.method == "POST") return change_refused(head, hosts);
  if (head.count("content-length") == 1 && std::stoul(head.value("content-length")) > 0)
    return closing(400, "N-416", "Only a POST carries a body.");
  return std::nullopt;
}

}  // namespace endgate::daemon
