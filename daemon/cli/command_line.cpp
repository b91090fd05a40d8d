#include "daemon/cli/command_line.h"

#include <exception>
#include <filesystem>
#include <iostream>
#include <variant>

#include "daemon/cli/exit_status.h"
#include "daemon/cli/parse_command_line.h"
#include "daemon/cli/run_service.h"
#include "daemon/cli/store_place.h"
#include "schema/store_fault.h"

namespace endgate::daemon {
namespace {

int told(const std::exception& error, ExitStatus status) {
  std::cerr << "endgate: " << error.what() << "\n";
  return status;
}

// Data that could not be written is no data: a full disk behind `> table.csv` must not end well.
int ended(int status) {
  std::cout.flush();
  if (std::cout) return status;
  std::cerr << "endgate: standard output could not be written to its end\n";
  return kStorage;
}

int run_guarded(const Command& command) {
  try {
    return ended(std::visit([](const auto& each) { return run_command(each); }, command));
  } catch (const ConfigurationFault& fault) {
    return told(fault, kConfiguration);
  } catch (const schema::StoreFault& fault) {
    return told(fault, fault.kind() == schema::StoreFault::Kind::busy ? kBusy : kStorage);
  } catch (const std::filesystem::filesystem_error& fault) {
    if (fault.code() != std::errc::permission_denied) return told(fault, kInternal);
    std::cerr << "endgate: you may not use " << fault.path1().string()
              << "; run this as the user the service runs as\n";
    return kStorage;
  } catch (const std::exception& fault) {
    return told(fault, kInternal);
  }
}

}  // namespace

int run_command(const RunCommand& command) { return run_service(command.config); }

int run_command_line(int argc, char** argv) {
  const std::variant<Command, int> parsed = parse_command_line(argc, argv);
  if (const int* status = std::get_if<int>(&parsed)) return *status;
  return run_guarded(std::get<Command>(parsed));
}

}  // namespace endgate::daemon
