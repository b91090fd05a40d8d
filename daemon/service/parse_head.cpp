#include "daemon/service/parse_head.h"

#include <boost/beast/http/empty_body.hpp>
#include <boost/beast/http/parser.hpp>
#include <cctype>

#include "daemon/service/head_scan.h"

namespace endgate::daemon {

namespace http = boost::beast::http;

std::string lower_case(std::string_view text) {
  std::string out(text);
  for (char& c : out) c = static_cast<char>(std::tolower(static_cast<unsigned char>(c)));
  return out;
}

std::optional<RequestHead> parse_head(const std::string& head) {
  http::request_parser<http::empty_body> parser;
  parser.header_limit(kHeadLimit);
  parser.body_limit(boost::none);  // the gate says it in words
  boost::system::error_code error;
  parser.put(boost::asio::buffer(head), error);
  if ((error && error != http::error::need_more) || !parser.is_header_done()) return std::nullopt;
  const auto& message = parser.get();
  RequestHead result{.method = std::string(message.method_string()),
                     .target = std::string(message.target()),
                     .version = static_cast<int>(message.version())};
  for (const auto& field : message)
    result.fields.emplace_back(lower_case(std::string_view(field.name_string())), field.value());
  return result;
}

}  // namespace endgate::daemon
