// An element that says one text.

#pragma once

#include <string>

#include "reports/node.h"

namespace endgate::reports {

[[nodiscard]] inline Node words(const char* tag, const std::string& text,
                                const std::string& class_names = "") {
  return Node(tag, class_names).say(text);
}

}  // namespace endgate::reports
