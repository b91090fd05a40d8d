// The scenario of the fixtures, loaded once.

#pragma once

#include <string>

#include "fixtures/history/scenario.h"

namespace endgate::history {

inline const Scenario& scenario() {
  static const Scenario loaded =
      load_scenario(std::string(ENDGATE_SOURCE_DIR) + "/fixtures/scenario");
  return loaded;
}

}  // namespace endgate::history
