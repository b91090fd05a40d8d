// `endgate trial`: a unit on a bench goes through an accepted lab trial.

#include <iostream>

#include "daemon/cli/commands.h"
#include "daemon/cli/daemon_client.h"
#include "daemon/cli/exit_status.h"
#include "daemon/cli/store_place.h"

namespace endgate::daemon {
namespace {

bool done(const Application::Entered& answer) {
  const auto* refusal = std::get_if<CommandRefusal>(&answer);
  if (refusal != nullptr) std::cerr << refusal->code << ": " << refusal->sentence << "\n";
  return refusal == nullptr;
}

}  // namespace

int run_command(const TrialCommand& command) {
  const ServiceDefinition service = service_in(command.config);
  const std::string bench = "/api/v1/benches/" + command.bench;
  if (!done(
          enter_through_daemon(service, bench + "/scan",
                               {{"serial", command.serial}, {"operator", command.operator_name}})))
    return kNegative;
  if (!done(enter_through_daemon(service, bench + "/start", {{"trial", command.trial}})))
    return kNegative;
  std::cerr << "Trial " << command.trial << " of " << command.serial << " runs on bench "
            << command.bench << ". In a rest the motor may start again by itself. The line page "
            << "shows it and stops it; its result is in: endgate history " << command.serial
            << "\n";
  return kOk;
}

}  // namespace endgate::daemon
