// `endgate trial`: a unit on a bench goes through an accepted lab trial.

#include <algorithm>
#include <iostream>
#include <set>
#include <string>
#include <vector>

#include "daemon/cli/commands.h"
#include "daemon/cli/daemon_client.h"
#include "daemon/cli/exit_status.h"
#include "daemon/cli/store_place.h"
#include "daemon/definitions/load.h"
#include "schema/store.h"

namespace endgate::daemon {
namespace {

ExitStatus status_of(const Application::Entered& answer) {
  const auto* refusal = std::get_if<CommandRefusal>(&answer);
  if (refusal == nullptr) return kOk;
  std::cerr << refusal->sentence << "\n";
  return status_of_refusal(refusal->code, refusal->http_status);
}

std::vector<std::string> accepted(DefinitionKind kind, const ServiceDefinition& service) {
  std::set<std::string> names;
  for (const schema::Definition& text : schema::StoreReader(service.data_directory).definitions())
    if (text.kind == name_of(kind)) names.insert(text.subject);
  return {names.begin(), names.end()};
}

bool is_accepted_bench(const std::string& bench, const ServiceDefinition& service) {
  const std::vector<std::string> benches = accepted(DefinitionKind::bench, service);
  if (std::ranges::find(benches, bench) != benches.end()) return true;
  std::cerr << "There is no bench " << bench << " here. There are:";
  for (const std::string& known : benches) std::cerr << " " << known;
  std::cerr << "\n";
  return false;
}

// Before the unit is scanned: a unit left ready would be tested by the next Start.
bool is_accepted_trial(const std::string& trial, const ServiceDefinition& service) {
  const std::vector<std::string> trials = accepted(DefinitionKind::trial, service);
  if (std::ranges::find(trials, trial) != trials.end()) return true;
  std::cerr << "There is no accepted trial \"" << trial << "\"; "
            << (trials.empty() ? "none is accepted. Write one in trials/ and accept it."
                               : "there is:");
  for (const std::string& known : trials) std::cerr << " " << known;
  std::cerr << "\n";
  return false;
}

}  // namespace

int run_command(const TrialCommand& command) {
  const ServiceDefinition service = service_in(command.config);
  if (!is_accepted_trial(command.trial, service) || !is_accepted_bench(command.bench, service))
    return kUsage;
  const std::string bench = "/api/v1/benches/" + command.bench;
  const ExitStatus scanned = status_of(enter_through_daemon(
      service, bench + "/scan", {{"serial", command.serial}, {"operator", command.operator_name}}));
  if (scanned != kOk) return scanned;
  const ExitStatus started =
      status_of(enter_through_daemon(service, bench + "/start", {{"trial", command.trial}}));
  if (started != kOk) {
    (void)enter_through_daemon(service, bench + "/scan", {{"serial", "EG-CANCEL"}});
    return started;
  }
  std::cerr << "Trial " << command.trial << " of " << command.serial << " runs on bench "
            << command.bench << ". In a rest the motor may start again by itself. The line page "
            << "shows it and stops it; its result is in: endgate history " << command.serial
            << "\n";
  return kOk;
}

}  // namespace endgate::daemon
