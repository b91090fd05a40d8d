#include "daemon/service/message.h"

#include <algorithm>

#include "daemon/service/json_write.h"

namespace endgate::daemon {

std::size_t RequestHead::count(std::string_view name) const {
  return static_cast<std::size_t>(std::count_if(
      fields.begin(), fields.end(), [&](const auto& field) { return field.first == name; }));
}

std::string RequestHead::value(std::string_view name) const {
  const auto found = std::find_if(fields.begin(), fields.end(),
                                  [&](const auto& field) { return field.first == name; });
  return found == fields.end() ? std::string() : found->second;
}

Response refusal(int status, std::string_view code, std::string_view sentence) {
  Response response;
  response.status = status;
  response.body = refusal_json(code, sentence);
  return response;
}

}  // namespace endgate::daemon
