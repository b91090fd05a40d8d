// What is around every page but the line page: head, navigation, scan field.

#pragma once

#include <string>

#include "reports/node.h"

namespace endgate::reports {

struct PageFrame {
  std::string title{};
  std::string here{};  // "Units": the entry of the bar that is marked
  Node main{};         // <main>
};

[[nodiscard]] std::string page_text(PageFrame frame);

// A page that says what is the case and what to do, and nothing else.
[[nodiscard]] std::string message_page(const std::string& here, const std::string& heading,
                                       const std::string& sentence);

}  // namespace endgate::reports
