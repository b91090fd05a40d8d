// A page as an answer.

#pragma once

#include <string>
#include <utility>

#include "daemon/service/message.h"
#include "reports/page_frame.h"

namespace endgate::daemon {

inline Response html(std::string text, int status = 200) {
  Response response;
  response.status = status;
  response.content_type = "text/html; charset=utf-8";
  response.cache_control = "no-cache";
  response.body = std::move(text);
  return response;
}

// A page about many tests in a store that has none.
inline Response nothing_kept_page(const std::string& page) {
  return html(reports::message_page(page, page,
                                    "No test is kept yet. Test a unit; this page then shows it."));
}

}  // namespace endgate::daemon
