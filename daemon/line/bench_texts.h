// What do the accepted texts say about a bench just now?

#pragma once

#include <string>
#include <variant>

#include "daemon/definitions/bench_definition.h"
#include "daemon/definitions/facts_definition.h"
#include "daemon/line/application.h"
#include "schema/store.h"

namespace endgate::daemon {

struct BenchTexts {
  BenchDefinition bench;
  CalibrationFacts calibration;
  std::string calibration_text;
  std::int64_t calibration_version = 0;
};

// Refused when one of the two was never accepted or cannot be read any more.
[[nodiscard]] std::variant<BenchTexts, CommandRefusal> bench_texts(const schema::StoreReader& store,
                                                                   const std::string& bench);

// Does the accepted text of this bench say that it is a simulated one?
[[nodiscard]] bool is_simulated(const schema::StoreReader& store, const std::string& bench);

}  // namespace endgate::daemon
