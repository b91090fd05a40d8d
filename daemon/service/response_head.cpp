#include "daemon/service/response_head.h"

namespace endgate::daemon {
namespace {

const char* phrase_of(int status) {
  switch (status) {
    case 200:
      return "OK";
    case 304:
      return "Not Modified";
    case 400:
      return "Bad Request";
    case 403:
      return "Forbidden";
    case 404:
      return "Not Found";
    case 405:
      return "Method Not Allowed";
    case 408:
      return "Request Timeout";
    case 409:
      return "Conflict";
    case 411:
      return "Length Required";
    case 413:
      return "Content Too Large";
    case 414:
      return "URI Too Long";
    case 415:
      return "Unsupported Media Type";
    case 417:
      return "Expectation Failed";
    case 421:
      return "Misdirected Request";
    case 422:
      return "Unprocessable Content";
    case 429:
      return "Too Many Requests";
    case 431:
      return "Request Header Fields Too Large";
    case 500:
      return "Internal Server Error";
    case 503:
      return "Service Unavailable";
    default:
      return "Answer";
  }
}

void add(std::string& head, const char* name, const std::string& value) {
  head += name;
  head += ": " + value + "\r\n";
}

std::string common(int status, const std::string& content_type) {
  std::string head = "HTTP/1.1 " + std::to_string(status) + " " + phrase_of(status) + "\r\n";
  add(head, "Content-Type", content_type);
  add(head, "Content-Security-Policy", kContentPolicy);
  add(head, "X-Content-Type-Options", "nosniff");
  add(head, "Referrer-Policy", "no-referrer");
  add(head, "Cross-Origin-Resource-Policy", "same-origin");
  return head;
}

}  // namespace

std::string response_head(const Response& response) {
  const std::size_t size =
      response.fixed_body.empty() ? response.body.size() : response.fixed_body.size();
  std::string head = common(response.status, response.content_type);
  add(head, "Cache-Control", response.cache_control);
  if (response.status != 304) add(head, "Content-Length", std::to_string(size));
  if (!response.etag.empty()) add(head, "ETag", response.etag);
  if (!response.file_name.empty())
    add(head, "Content-Disposition", "attachment; filename=\"" + response.file_name + "\"");
  if (!response.allow.empty()) add(head, "Allow", response.allow);
  if (response.retry_after_s > 0) add(head, "Retry-After", std::to_string(response.retry_after_s));
  add(head, "Connection", response.close ? "close" : "keep-alive");
  return head + "\r\n";
}

std::string live_feed_head() {
  std::string head = common(200, "text/event-stream");
  add(head, "Cache-Control", "no-store");
  add(head, "X-Accel-Buffering", "no");
  add(head, "Connection", "close");
  return head + "\r\n";
}

}  // namespace endgate::daemon
