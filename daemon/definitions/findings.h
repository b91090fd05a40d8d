// What is wrong in this file so far?  Collects every error with its place; nothing stops at the
// first one.

#pragma once

#include <string>
#include <utility>
#include <vector>

#include "daemon/definitions/load.h"

namespace endgate::daemon {

struct TextPosition {
  int line = 0;  // from 1; 0: the file as a whole
  int column = 0;
};

class Findings {
 public:
  explicit Findings(std::string file) : file_(std::move(file)) {}

  // `expected` continues the word "expected": "a number above 0".
  void add(TextPosition where, std::string key, std::string expected) {
    errors_.push_back({file_, where.line, where.column, std::move(key), std::move(expected)});
  }
  [[nodiscard]] bool any() const { return !errors_.empty(); }
  [[nodiscard]] std::vector<DefinitionError> in_file_order() &&;

 private:
  std::string file_;
  std::vector<DefinitionError> errors_;
};

}  // namespace endgate::daemon
