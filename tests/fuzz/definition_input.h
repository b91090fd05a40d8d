// Any bytes, given to the loaders of what people write down: whatever it is, the loader comes back
// with a definition or with errors that name a place.

#pragma once

#include <cstdint>
#include <cstdlib>
#include <span>
#include <string_view>

#include "daemon/definitions/load.h"

namespace endgate::tests {

template <class T>
void expect_definition_or_errors(const daemon::Loaded<T>& loaded) {
  const auto* errors = std::get_if<std::vector<daemon::DefinitionError>>(&loaded);
  if (errors == nullptr) return;
  if (errors->empty()) std::abort();
  for (const daemon::DefinitionError& error : *errors)
    if (error.text().empty()) std::abort();
}

inline std::string_view text_of(std::span<const std::uint8_t> bytes) {
  return {reinterpret_cast<const char*>(bytes.data()), bytes.size()};
}

inline void read_as_bench(std::span<const std::uint8_t> bytes) {
  expect_definition_or_errors(daemon::load_bench(text_of(bytes), "bench.toml"));
}

// A model, and whatever else the word behind `kind` names.
inline void read_as_model(std::span<const std::uint8_t> bytes) {
  const std::string_view text = text_of(bytes);
  (void)daemon::kind_in(text);
  expect_definition_or_errors(daemon::load_model(text, "model.toml"));
  expect_definition_or_errors(daemon::load_trial(text, "trial.toml"));
  expect_definition_or_errors(daemon::load_limits(text, "limits.toml"));
  expect_definition_or_errors(daemon::load_calibration(text, "calibration.toml"));
  expect_definition_or_errors(daemon::load_corrections(text, "corrections.toml"));
}

}  // namespace endgate::tests
