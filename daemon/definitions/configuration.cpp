#include <algorithm>
#include <array>
#include <fstream>
#include <iterator>
#include <map>
#include <optional>
#include <set>
#include <system_error>

#include "daemon/definitions/conflicts.h"
#include "daemon/definitions/load.h"

namespace endgate::daemon {
namespace {

namespace fs = std::filesystem;

constexpr std::uintmax_t kLargestFile = 1 << 20;

struct Folder {
  const char* name;
  DefinitionKind kind;
};
constexpr std::array<Folder, 7> kFolders{{{"benches", DefinitionKind::bench},
                                          {"models", DefinitionKind::model},
                                          {"calibrations", DefinitionKind::calibration},
                                          {"corrections", DefinitionKind::corrections},
                                          {"limits", DefinitionKind::limits},
                                          {"causes", DefinitionKind::causes},
                                          {"trials", DefinitionKind::trial}}};

std::optional<std::string> text_of(const fs::path& path) {
  std::error_code error;
  const std::uintmax_t size = fs::file_size(path, error);
  if (error || size > kLargestFile) return std::nullopt;
  std::ifstream in(path, std::ios::binary);
  if (!in) return std::nullopt;
  return std::string(std::istreambuf_iterator<char>(in), {});
}

const std::string& subject_of(const BenchDefinition& bench) { return bench.id; }
const std::string& subject_of(const ModelDefinition& model) { return model.id; }
const std::string& subject_of(const CalibrationFacts& facts) { return facts.bench; }
const std::string& subject_of(const CorrectionFacts& facts) { return facts.model; }
const std::string& subject_of(const LimitFacts& facts) { return facts.model; }
const std::string& subject_of(const CauseFacts& facts) { return facts.model; }
std::string subject_of(const ControlFacts& facts) {
  return control_subject(facts.model, facts.metric, facts.bench);
}
const std::string& subject_of(const TrialDefinition& trial) { return trial.id; }
std::string subject_of(const ServiceDefinition&) { return {}; }

class Reading {
 public:
  explicit Reading(fs::path folder) : folder_(std::move(folder)) {}

  ConfigurationFolder all() && {
    std::error_code error;
    if (!fs::is_directory(folder_, error)) {
      complain(folder_.generic_string(), "a folder with service.toml, benches/ and models/");
      return std::move(result_);
    }
    read(folder_ / "service.toml", DefinitionKind::service);
    for (const Folder& part : kFolders) read_folder(part);
    check_subjects();
    for (DefinitionError& error : conflicts_in(result_.files, folder_))
      result_.errors.push_back(std::move(error));
    return std::move(result_);
  }

 private:
  void complain(const std::string& file, const std::string& expected) {
    result_.errors.push_back({file, 0, 0, "", expected});
  }
  [[nodiscard]] std::string shown(const fs::path& path) const {
    return path.lexically_relative(folder_).generic_string();
  }

  void read_folder(const Folder& part) {
    for (const fs::path& path : toml_files(folder_ / part.name)) read(path, part.kind);
  }

  static std::vector<fs::path> toml_files(const fs::path& folder) {
    std::vector<fs::path> paths;
    std::error_code error;
    for (fs::directory_iterator each(folder, error), end; !error && each != end;
         each.increment(error))
      if (each->path().extension() == ".toml") paths.push_back(each->path());
    std::ranges::sort(paths);
    return paths;
  }

  void read(const fs::path& path, DefinitionKind kind) {
    const std::optional<std::string> text = text_of(path);
    if (!text) return complain(shown(path), "a readable file of at most 1 MB");
    DefinitionFile file{kind, path, *text, ""};
    LoadedSubject loaded = load_subject(kind, *text, shown(path));
    if (const auto* errors = std::get_if<std::vector<DefinitionError>>(&loaded)) {
      result_.errors.insert(result_.errors.end(), errors->begin(), errors->end());
      wrong_kinds_.insert(kind);
    } else {
      file.subject = std::get<std::string>(loaded);
    }
    result_.files.push_back(std::move(file));
  }

  // The same subject twice would leave open which file rules; a fact needs what it is about.
  void check_subjects() {
    std::map<std::pair<DefinitionKind, std::string>, std::string> seen;
    for (const DefinitionFile& file : result_.files) {
      if (file.subject.empty()) continue;
      const auto [first, is_new] =
          seen.emplace(std::pair(file.kind, file.subject), shown(file.path));
      if (!is_new)
        complain(shown(file.path), "one file for each " + std::string(name_of(file.kind)) + "; \"" +
                                       file.subject + "\" is also in " + first->second);
    }
    for (const DefinitionFile& file : result_.files) check_owner(file, seen);
  }

  template <class Seen>
  void check_owner(const DefinitionFile& file, const Seen& seen) {
    const bool of_bench = file.kind == DefinitionKind::calibration;
    const bool of_model = file.kind == DefinitionKind::corrections ||
                          file.kind == DefinitionKind::limits ||
                          file.kind == DefinitionKind::causes;
    if (file.subject.empty() || !(of_bench || of_model)) return;
    const DefinitionKind owner = of_bench ? DefinitionKind::bench : DefinitionKind::model;
    if (!wrong_kinds_.contains(owner) && !seen.contains({owner, file.subject}))
      complain(shown(file.path),
               "a " + std::string(name_of(owner)) + " file that defines \"" + file.subject + "\"");
  }

  fs::path folder_;
  ConfigurationFolder result_;
  std::set<DefinitionKind> wrong_kinds_;  // one of these may be the owner that seems missing
};

template <class T>
LoadedSubject subject_in(const Loaded<T>& loaded) {
  if (const auto* errors = std::get_if<std::vector<DefinitionError>>(&loaded)) return *errors;
  return std::string(subject_of(std::get<T>(loaded)));
}

}  // namespace

LoadedSubject load_subject(DefinitionKind kind, std::string_view text, const std::string& file) {
  switch (kind) {
    case DefinitionKind::service:
      return subject_in(load_service(text, file));
    case DefinitionKind::bench:
      return subject_in(load_bench(text, file));
    case DefinitionKind::model:
      return subject_in(load_model(text, file));
    case DefinitionKind::calibration:
      return subject_in(load_calibration(text, file));
    case DefinitionKind::corrections:
      return subject_in(load_corrections(text, file));
    case DefinitionKind::limits:
      return subject_in(load_limits(text, file));
    case DefinitionKind::causes:
      return subject_in(load_causes(text, file));
    case DefinitionKind::control:
      return subject_in(load_control(text, file));
    case DefinitionKind::trial:
      return subject_in(load_trial(text, file));
  }
  return std::vector<DefinitionError>{};
}

ConfigurationFolder read_configuration(const fs::path& folder) { return Reading(folder).all(); }

}  // namespace endgate::daemon
