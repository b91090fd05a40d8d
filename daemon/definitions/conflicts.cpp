#include "daemon/definitions/conflicts.h"

#include <map>
#include <string>
#include <utility>

#include "daemon/definitions/serial_overlap.h"

namespace endgate::daemon {
namespace {

// A file and the bench or model it speaks of.  Two files of one subject are told elsewhere.
struct Speaker {
  std::string file, subject;
};

// What only one bench may say, and which said it first.
class OnlyOnce {
 public:
  OnlyOnce(std::vector<DefinitionError>& errors, const char* key, const char* what)
      : errors_(errors), key_(key), what_(what) {}

  void expect_new(const std::string& value, const Speaker& speaker) {
    const auto [first, is_new] = seen_.emplace(value, speaker);
    if (!is_new && first->second.subject != speaker.subject)
      errors_.push_back(
          {speaker.file, 0, 0, key_,
           std::string(what_) + "; " + value + " stands in " + first->second.file + " too"});
  }

 private:
  std::vector<DefinitionError>& errors_;
  const char* key_;
  const char* what_;
  std::map<std::string, Speaker> seen_;
};

// A gateway may carry several units, a serial line several addresses.
std::string address_of(const DeviceDefinition& device, const std::string& bench) {
  if (device.link == LinkKind::recorded_run)
    return device.id + " of bench " + bench;  // may be shared
  const std::string way =
      device.host.empty() ? device.line.path : device.host + ":" + std::to_string(device.port);
  const bool modbus = device.link == LinkKind::modbus_tcp || device.link == LinkKind::modbus_rtu;
  return modbus ? way + ", unit " + std::to_string(device.unit_id) : way;
}

class Conflicts {
 public:
  std::vector<DefinitionError> take() { return std::move(errors_); }

  void add(const BenchDefinition& bench, const std::string& file) {
    for (const DeviceDefinition& device : bench.devices)
      addresses_.expect_new(address_of(device, bench.id), {file, bench.id});
    if (bench.owner_word != 0)
      owner_words_.expect_new(std::to_string(bench.owner_word), {file, bench.id});
  }

  void add(const ModelDefinition& model, const std::string& file) {
    for (const auto& [other, pattern] : patterns_)
      if (other.subject != model.id && patterns_overlap(pattern, model.serial_pattern))
        errors_.push_back({file, 0, 0, "serial_pattern",
                           "a pattern that no serial of another model fits; some serials fit this "
                           "one and that of " +
                               other.file});
    patterns_.emplace_back(Speaker{file, model.id}, model.serial_pattern);
  }

 private:
  std::vector<DefinitionError> errors_;
  OnlyOnce addresses_{errors_, "device", "a device that no other bench uses"};
  OnlyOnce owner_words_{errors_, "owner_word", "a word of its own for each bench"};
  std::vector<std::pair<Speaker, std::string>> patterns_;
};

}  // namespace

std::vector<DefinitionError> conflicts_in(const std::vector<DefinitionFile>& files,
                                          const std::filesystem::path& folder) {
  Conflicts conflicts;
  for (const DefinitionFile& file : files) {
    const std::string name = file.path.lexically_relative(folder).generic_string();
    const auto add = [&](const auto& loaded) {
      if (const auto* right = std::get_if<0>(&loaded)) conflicts.add(*right, name);
    };
    if (file.kind == DefinitionKind::bench) add(load_bench(file.text, name));
    if (file.kind == DefinitionKind::model) add(load_model(file.text, name));
  }
  return conflicts.take();
}

}  // namespace endgate::daemon
