// A page as an answer.

#pragma once

#include <string>
#include <utility>

#include "daemon/service/message.h"

namespace endgate::daemon {

inline Response html(std::string text, int status = 200) {
  Response response;
  response.status = status;
  response.content_type = "text/html; charset=utf-8";
  response.cache_control = "no-cache";
  response.body = std::move(text);
  return response;
}

}  // namespace endgate::daemon
