// Is this file right, and if not, where exactly is it wrong?
//
// Every loader reads one TOML text and returns the checked definition or all errors found, each
// with file, line, column, key and what was expected; unknown keys are errors with the nearest
// known one. Numbers must be finite.  Nothing here touches the store.

#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "daemon/definitions/bench_definition.h"
#include "daemon/definitions/cause_facts.h"
#include "daemon/definitions/control_facts.h"
#include "daemon/definitions/facts_definition.h"
#include "daemon/definitions/model_definition.h"
#include "daemon/definitions/service_definition.h"
#include "daemon/definitions/trial_definition.h"

namespace endgate::daemon {

struct DefinitionError {
  std::string file;
  int line = 0;
  int column = 0;
  std::string key;                         // "channel[3].scale"
  std::string expected;                    // "a number above 0"
  [[nodiscard]] std::string text() const;  // "benches/north.toml:12:8 channel[3].scale: expected …"
};

template <class T>
using Loaded = std::variant<T, std::vector<DefinitionError>>;

[[nodiscard]] Loaded<ServiceDefinition> load_service(std::string_view text,
                                                     const std::string& file);
[[nodiscard]] Loaded<BenchDefinition> load_bench(std::string_view text, const std::string& file);
[[nodiscard]] Loaded<ModelDefinition> load_model(std::string_view text, const std::string& file);
[[nodiscard]] Loaded<CalibrationFacts> load_calibration(std::string_view text,
                                                        const std::string& file);
[[nodiscard]] Loaded<CorrectionFacts> load_corrections(std::string_view text,
                                                       const std::string& file);
[[nodiscard]] Loaded<LimitFacts> load_limits(std::string_view text, const std::string& file);
[[nodiscard]] Loaded<CauseFacts> load_causes(std::string_view text, const std::string& file);
[[nodiscard]] Loaded<ControlFacts> load_control(std::string_view text, const std::string& file);
[[nodiscard]] Loaded<TrialDefinition> load_trial(std::string_view text, const std::string& file);

// One definition file of any kind as found in a configuration folder.
enum class DefinitionKind {
  service,
  bench,
  model,
  calibration,
  corrections,
  limits,
  causes,
  control,
  trial
};
struct DefinitionFile {
  DefinitionKind kind;
  std::filesystem::path path;
  std::string text;
  std::string subject;  // the bench, model or trial it speaks of; empty for service
};
struct ConfigurationFolder {
  std::vector<DefinitionFile> files;  // service.toml, benches/, models/, calibrations/,
                                      // corrections/, limits/, causes/, trials/; each loaded once
  std::vector<DefinitionError> errors;
};
[[nodiscard]] ConfigurationFolder read_configuration(const std::filesystem::path& folder);

// The first line of meaning in each file is `kind = "bench"` etc.
[[nodiscard]] const char* name_of(DefinitionKind kind);

// What `kind = ...` says in a text that came without a folder; absent when it says nothing known.
[[nodiscard]] std::optional<DefinitionKind> kind_in(std::string_view text);

// Of which bench or model does this text speak?  Empty for a service file.
using LoadedSubject = std::variant<std::string, std::vector<DefinitionError>>;
[[nodiscard]] LoadedSubject load_subject(DefinitionKind kind, std::string_view text,
                                         const std::string& file);

}  // namespace endgate::daemon
