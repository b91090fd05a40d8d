#include "daemon/line/configuration.h"

#include <algorithm>

#include "daemon/definitions/context_of.h"
#include "daemon/definitions/fit.h"

namespace endgate::daemon {
namespace {

// A text in the store was checked when it was accepted; one this version can no longer read is
// reported as not ready, never guessed at.
template <class T>
void keep(std::map<std::string, Accepted<T>>& into, std::map<std::string, std::string>& not_ready,
          const schema::Definition& accepted, Loaded<T> loaded) {
  if (T* value = std::get_if<T>(&loaded))
    into[accepted.subject] = {std::move(*value), static_cast<int>(accepted.version)};
  else
    not_ready[accepted.subject] = "The accepted " + accepted.kind + " of " + accepted.subject +
                                  " cannot be read by this version: " +
                                  std::get<std::vector<DefinitionError>>(loaded).front().text() +
                                  ". Accept it anew.";
}

void keep_fact(Configuration& into, const schema::Definition& accepted) {
  const std::string file = accepted.kind + " " + accepted.subject;
  if (accepted.kind == "calibration")
    keep(into.calibrations, into.not_ready, accepted, load_calibration(accepted.text, file));
  else if (accepted.kind == "corrections")
    keep(into.corrections, into.not_ready, accepted, load_corrections(accepted.text, file));
  else if (accepted.kind == "limits")
    keep(into.limits, into.not_ready, accepted, load_limits(accepted.text, file));
  else if (accepted.kind == "causes")
    keep(into.causes, into.not_ready, accepted, load_causes(accepted.text, file));
  else if (accepted.kind == "trial")
    keep(into.trials, into.not_ready, accepted, load_trial(accepted.text, file));
}

void keep_file(Configuration& into, const DefinitionFile& file,
               const std::optional<schema::Definition>& accepted) {
  const std::string path = file.path.generic_string();
  if (!accepted || accepted->text != file.text) {
    if (file.kind == DefinitionKind::bench) into.benches_not_ready.push_back(file.subject);
    into.not_ready[file.subject] = path + " is not the text last accepted. Run: endgate accept " +
                                   path + " --by NAME --why TEXT";
    return;
  }
  if (file.kind == DefinitionKind::bench)
    keep(into.benches, into.not_ready, *accepted, load_bench(file.text, path));
  else
    keep(into.models, into.not_ready, *accepted, load_model(file.text, path));
}

// A file with errors does not say what it is of: its bench is known by the name of the file, so
// that it does not vanish from the line page.
void keep_unreadable_bench(Configuration& into, const std::filesystem::path& config_folder,
                           const DefinitionFile& file, const std::vector<DefinitionError>& errors) {
  const std::string shown = file.path.lexically_relative(config_folder).generic_string();
  const auto error = std::ranges::find(errors, shown, &DefinitionError::file);
  const std::string bench = file.path.stem().string();
  into.benches_not_ready.push_back(bench);
  into.not_ready[bench] = error == errors.end() ? shown + " cannot be read." : error->text();
}

void refuse_benches(Configuration& into, bool simulated, const std::string& why) {
  for (auto bench = into.benches.begin(); bench != into.benches.end();) {
    if (bench->second.value.simulated != simulated) {
      ++bench;
      continue;
    }
    into.benches_not_ready.push_back(bench->first);
    into.not_ready[bench->first] = "Bench " + bench->first + " is not used: " + why;
    bench = into.benches.erase(bench);
  }
}

// Of the oldest and the newest tests.  One that was cut off by a restart may not know where it ran.
bool holds_measured(const schema::StoreReader& store) {
  constexpr std::size_t kLook = 32;
  const auto is_measured = [](const schema::StoredRecord& stored) {
    const bool was_judged = stored.record.verdict != "void" || !stored.record.context_bytes.empty();
    return !stored.record.simulated && was_judged;
  };
  if (std::ranges::any_of(store.latest_records(kLook), is_measured)) return true;
  std::size_t seen = 0;
  bool found = false;
  store.for_each_record([&](const schema::StoredRecord& stored) {
    found = is_measured(stored);
    return !found && ++seen < kLook;
  });
  return found;
}

// What was simulated, or recorded and played again, and what was measured never stand in one store:
// nobody could tell them apart in a trend.  A store that has begun stays what it is.
void refuse_mixed_benches(Configuration& into, const schema::StoreReader& store) {
  const auto is_simulated = [](const auto& bench) { return bench.second.value.simulated; };
  if (store.holds_simulated())
    return refuse_benches(into, false,
                          "the store holds simulated tests, and this bench is not simulated. Give "
                          "it a data folder of its own.");
  if (holds_measured(store))
    return refuse_benches(into, true,
                          "the store holds tests of real units, and this bench is simulated. Give "
                          "it a service and a data folder of its own.");
  if (std::ranges::any_of(into.benches, is_simulated))
    refuse_benches(into, false,
                   "it stands beside a simulated bench, and both would write to one store. Give "
                   "the simulated one a service and a data folder of its own.");
}

}  // namespace

std::vector<std::string> Configuration::bench_ids() const {
  std::vector<std::string> ids = benches_not_ready;
  for (const auto& [id, bench] : benches) ids.push_back(id);
  return ids;
}

std::vector<ModelDefinition> Configuration::model_list() const {
  std::vector<ModelDefinition> list;
  for (const auto& [id, model] : models) list.push_back(model.value);
  return list;
}

std::variant<analysis::Context, std::string> Configuration::context(
    const std::string& bench, const std::string& model) const {
  if (!benches.contains(bench)) return "Bench " + bench + " is not ready.";
  if (!models.contains(model)) return "Model " + model + " is not ready.";
  if (!calibrations.contains(bench)) return "Bench " + bench + " has no accepted calibration.";
  if (!corrections.contains(model)) return "Model " + model + " has no accepted corrections.";
  if (!limits.contains(model)) return "Model " + model + " has no accepted limits.";
  const auto known = causes.find(model);
  const bool has_causes = known != causes.end();
  const AcceptedVersions versions{.bench = benches.at(bench).version,
                                  .model = models.at(model).version,
                                  .calibration = calibrations.at(bench).version,
                                  .corrections = corrections.at(model).version,
                                  .limits = limits.at(model).version,
                                  .causes = has_causes ? known->second.version : 0};
  return context_of(benches.at(bench).value, models.at(model).value, calibrations.at(bench).value,
                    corrections.at(model).value, limits.at(model).value, versions,
                    has_causes ? &known->second.value : nullptr);
}

std::variant<analysis::Context, std::string> Configuration::trial_context(
    const std::string& bench, const std::string& model, const std::string& trial) const {
  const auto found = trials.find(trial);
  if (found == trials.end())
    return "There is no accepted trial \"" + trial +
           "\". Run: endgate accept FILE --by NAME --why TEXT";
  if (found->second.value.model != model)
    return "Trial \"" + trial + "\" is of model " + found->second.value.model + ", not of " +
           model + ".";
  auto context = this->context(bench, model);
  if (std::holds_alternative<std::string>(context)) return context;
  const auto misfits = misfits_of(benches.at(bench).value,
                                  run_in_trial(models.at(model).value, found->second.value));
  if (!misfits.empty()) return misfits.front() + ".";
  if (auto* facts = std::get_if<analysis::Context>(&context))
    *facts = context_in_trial(std::move(*facts), found->second.value, found->second.version);
  return context;
}

std::shared_ptr<const Configuration> read_accepted(const std::filesystem::path& config_folder,
                                                   const schema::StoreReader& store) {
  auto configuration = std::make_shared<Configuration>();
  std::map<std::pair<std::string, std::string>, schema::Definition> latest;
  for (schema::Definition& definition : store.definitions())
    latest[{definition.kind, definition.subject}] = std::move(definition);
  for (const auto& [key, definition] : latest) keep_fact(*configuration, definition);
  const ConfigurationFolder folder = read_configuration(config_folder);
  for (const DefinitionError& error : folder.errors)
    configuration->not_ready[error.file] = error.text();
  for (const DefinitionFile& file : folder.files) {
    const bool is_bench = file.kind == DefinitionKind::bench;
    if (file.subject.empty()) {
      if (is_bench) keep_unreadable_bench(*configuration, config_folder, file, folder.errors);
    } else if (is_bench || file.kind == DefinitionKind::model) {
      keep_file(*configuration, file, store.current_definition(name_of(file.kind), file.subject));
    }
  }
  refuse_mixed_benches(*configuration, store);
  return configuration;
}

}  // namespace endgate::daemon
