// Which accepted definitions does the service work with, and what is not ready, and why?
//
// Bench and model files rule only while their text is the one last accepted; calibrations,
// corrections and limits are facts of the store.  Read once, immutable, replaced as a whole.

#pragma once

#include <filesystem>
#include <map>
#include <memory>
#include <string>
#include <variant>
#include <vector>

#include "analysis/context.h"
#include "daemon/definitions/load.h"
#include "schema/store.h"

namespace endgate::daemon {

template <class T>
struct Accepted {
  T value;
  int version = 0;
};

struct Configuration {
  std::map<std::string, Accepted<BenchDefinition>> benches;
  std::map<std::string, Accepted<ModelDefinition>> models;
  std::map<std::string, Accepted<CalibrationFacts>> calibrations;  // by bench
  std::map<std::string, Accepted<CorrectionFacts>> corrections;    // by model
  std::map<std::string, Accepted<LimitFacts>> limits;              // by model
  std::map<std::string, Accepted<CauseFacts>> causes;              // by model; may lack some
  std::map<std::string, Accepted<TrialDefinition>> trials;         // by id; the text accepted last
  // Subject of a bench or model file that may not be used -> what is wrong and what to do.
  std::map<std::string, std::string> not_ready;
  std::vector<std::string> benches_not_ready;  // those of them that are benches

  // Benches with an accepted file and benches that are not ready.
  [[nodiscard]] std::vector<std::string> bench_ids() const;
  [[nodiscard]] std::vector<ModelDefinition> model_list() const;
  // The pinned facts of a test, or what is missing.
  [[nodiscard]] std::variant<analysis::Context, std::string> context(
      const std::string& bench, const std::string& model) const;
  // Those of a lab trial of that model, or what is missing.
  [[nodiscard]] std::variant<analysis::Context, std::string> trial_context(
      const std::string& bench, const std::string& model, const std::string& trial) const;
};

// Reads the folder's bench and model files and the store's accepted texts.
[[nodiscard]] std::shared_ptr<const Configuration> read_accepted(
    const std::filesystem::path& config_folder, const schema::StoreReader& store);

}  // namespace endgate::daemon
