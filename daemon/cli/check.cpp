// `endgate check`: are the files right, which model fits which bench, what is not promised?

#include <iostream>
#include <map>

#include "daemon/bench/make_link.h"
#include "daemon/cli/commands.h"
#include "daemon/cli/exit_status.h"
#include "daemon/cli/store_place.h"
#include "daemon/definitions/context_of.h"
#include "daemon/definitions/fit.h"
#include "daemon/definitions/load.h"
#include "daemon/definitions/origins.h"
#include "schema/store.h"

namespace endgate::daemon {
namespace {

template <class T>
using BySubject = std::map<std::string, T>;

struct Definitions {
  BySubject<BenchDefinition> benches;
  BySubject<ModelDefinition> models;
  BySubject<CalibrationFacts> calibrations;
  BySubject<CorrectionFacts> corrections;
  BySubject<LimitFacts> limits;
  BySubject<CauseFacts> causes;
};

// Only after the folder was read without errors.
Definitions load_all(const ConfigurationFolder& folder) {
  Definitions all;
  const auto keep = [](auto& into, const DefinitionFile& file, auto loaded) {
    using T = typename std::decay_t<decltype(into)>::mapped_type;
    into[file.subject] = std::get<T>(std::move(loaded));
  };
  for (const DefinitionFile& file : folder.files) {
    const std::string name = file.path.string();
    if (file.kind == DefinitionKind::bench) keep(all.benches, file, load_bench(file.text, name));
    if (file.kind == DefinitionKind::model) keep(all.models, file, load_model(file.text, name));
    if (file.kind == DefinitionKind::calibration)
      keep(all.calibrations, file, load_calibration(file.text, name));
    if (file.kind == DefinitionKind::corrections)
      keep(all.corrections, file, load_corrections(file.text, name));
    if (file.kind == DefinitionKind::limits) keep(all.limits, file, load_limits(file.text, name));
    if (file.kind == DefinitionKind::causes) keep(all.causes, file, load_causes(file.text, name));
  }
  return all;
}

// Why the model cannot be tested on the bench; empty when it can.
std::vector<std::string> obstacles(const Definitions& all, const BenchDefinition& bench,
                                   const ModelDefinition& model) {
  std::vector<std::string> found = misfits_of(bench, model);
  if (!found.empty()) return found;
  if (!all.calibrations.contains(bench.id)) return {"bench " + bench.id + " has no calibration"};
  if (!all.corrections.contains(model.id)) return {"model " + model.id + " has no corrections"};
  if (!all.limits.contains(model.id)) return {"model " + model.id + " has no limits"};
  const auto known = all.causes.find(model.id);
  const auto context =
      context_of(bench, model, all.calibrations.at(bench.id), all.corrections.at(model.id),
                 all.limits.at(model.id), {}, known == all.causes.end() ? nullptr : &known->second);
  if (const auto* refusal = std::get_if<std::string>(&context)) found.push_back(*refusal);
  return found;
}

bool is_testable(const Definitions& all, const ModelDefinition& model) {
  bool testable = false;
  for (const auto& [id, bench] : all.benches) {
    const std::vector<std::string> found = obstacles(all, bench, model);
    testable = testable || found.empty();
    std::cout << "model " << model.id << " on bench " << id << ": "
              << (found.empty() ? "can be tested" : "cannot be tested") << "\n";
    for (const std::string& obstacle : found) std::cout << "  " << obstacle << "\n";
  }
  return testable;
}

void tell_what_is_wired_where(const BenchDefinition& bench) {
  std::cout << "bench " << bench.id << ": channels come from\n";
  for (const std::string& sentence : origins_of(bench)) std::cout << "  " << sentence << "\n";
  std::cout << "bench " << bench.id << ": commands go to\n";
  for (const std::string& sentence : targets_of(bench)) std::cout << "  " << sentence << "\n";
}

void tell_what_is_not_promised(const BenchDefinition& bench) {
  const std::vector<std::string> sentences = not_promised_of(bench);
  std::cout << "bench " << bench.id << ": "
            << (sentences.empty()
                    ? "lease, read-backs, cover, emergency stop, owner word and clock are "
                      "all there"
                    : "not promised:")
            << "\n";
  for (const std::string& sentence : sentences) std::cout << "  " << sentence << "\n";
}

// Whether the file of a recorded run is there and has what the bench file asks of it.
bool can_be_played(const BenchDefinition& bench) {
  bool can = true;
  for (const DeviceDefinition& device : bench.devices) {
    const std::string why = why_not_played(device);
    if (why.empty()) continue;
    std::cout << "bench " << bench.id << ": " << device.recording.file
              << " cannot be played: " << why << "\n";
    can = false;
  }
  return can;
}

void tell_nothing_accepted(const CheckCommand& command) {
  std::cout << "nothing is accepted yet: endgate accept " << command.config.string()
            << " --by NAME --why TEXT\n";
}

// Right is not yet in force: what rules is the text that a person accepted.
void tell_what_is_not_accepted(const CheckCommand& command, const ConfigurationFolder& folder) {
  const std::filesystem::path data = service_in(command.config).data_directory;
  std::error_code unreadable;
  const bool exists = std::filesystem::exists(data / "records.db", unreadable);
  if (!exists && !unreadable) return tell_nothing_accepted(command);
  const schema::StoreReader store(data);
  std::string files;
  for (const DefinitionFile& file : folder.files) {
    if (file.kind == DefinitionKind::service) continue;
    const auto last = store.current_definition(name_of(file.kind), file.subject);
    if (!last || last->text != file.text) files += "  " + file.path.string() + "\n";
  }
  if (!files.empty())
    std::cout << "not the text accepted last, so not in force (endgate accept):\n" << files;
}

}  // namespace

int run_command(const CheckCommand& command) {
  const ConfigurationFolder folder = read_configuration(command.config);
  for (const DefinitionError& error : folder.errors) std::cerr << error.text() << "\n";
  if (!folder.errors.empty()) return kConfiguration;
  std::cout << folder.files.size() << " files are right\n";
  const Definitions all = load_all(folder);
  bool every_bench = true;
  for (const auto& [id, bench] : all.benches) {
    tell_what_is_wired_where(bench);
    tell_what_is_not_promised(bench);
    every_bench = can_be_played(bench) && every_bench;
  }
  bool every_model = true;
  for (const auto& [id, model] : all.models) every_model = is_testable(all, model) && every_model;
  try {
    tell_what_is_not_accepted(command, folder);
  } catch (const schema::StoreFault& fault) {  // the files are right all the same
    std::cout << "what is accepted cannot be told: " << fault.what() << "\n";
  }
  return every_bench && every_model ? kOk : kNegative;
}

}  // namespace endgate::daemon
