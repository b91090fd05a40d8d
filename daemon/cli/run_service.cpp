#include "daemon/cli/run_service.h"

#include <sys/resource.h>
#include <unistd.h>

#include <algorithm>
#include <atomic>
#include <csignal>
#include <fstream>
#include <iostream>
#include <iterator>
#include <system_error>

#include "daemon/cli/exit_status.h"
#include "daemon/cli/service_manager.h"
#include "daemon/definitions/load.h"
#include "daemon/line/line_service.h"
#include "daemon/line/order_motors_off.h"
#include "daemon/log/log.h"
#include "daemon/service/http_server.h"
#include "schema/owner_lock.h"
#include "schema/sqlite_log.h"

namespace endgate::daemon {
namespace {

std::optional<ServiceDefinition> service_or_say_why(const std::filesystem::path& folder) {
  const std::filesystem::path path = folder / "service.toml";
  std::ifstream in(path);
  if (!in) {
    std::cerr << path.string()
              << ": expected a readable file. Copy fixtures/scenario as a start.\n";
    return std::nullopt;
  }
  const std::string text(std::istreambuf_iterator<char>(in), {});
  auto loaded = load_service(text, path.string());
  if (auto* service = std::get_if<ServiceDefinition>(&loaded)) {
    if (service->data_directory.is_relative())
      service->data_directory = folder / service->data_directory;
    return std::move(*service);
  }
  for (const DefinitionError& error : std::get<std::vector<DefinitionError>>(loaded))
    std::cerr << error.text() << "\n";
  return std::nullopt;
}

// Blocked before any thread is made, so that only wait_for_end() receives them.  A second signal
// while ending changes nothing: the motor is switched off and read back first.
sigset_t block_end_signals() {
  sigset_t set;
  sigemptyset(&set);
  sigaddset(&set, SIGTERM);
  sigaddset(&set, SIGINT);
  sigaddset(&set, SIGHUP);
  pthread_sigmask(SIG_BLOCK, &set, nullptr);
  std::signal(SIGPIPE, SIG_IGN);
  return set;
}

void wait_for_end(const sigset_t& set) {
  int signal = 0;
  do sigwait(&set, &signal);
  while (signal == SIGHUP);
}

// 256 pages and programs, the links of 16 benches, the files of the store, and room.
void raise_descriptor_limit() {
  constexpr rlim_t kWanted = 1024;
  rlimit limit{};
  if (getrlimit(RLIMIT_NOFILE, &limit) != 0 || limit.rlim_cur >= kWanted) return;
  limit.rlim_cur = std::min(kWanted, limit.rlim_max);
  if (setrlimit(RLIMIT_NOFILE, &limit) != 0 || limit.rlim_cur < kWanted)
    log_warning("only " + std::to_string(limit.rlim_cur) +
                " files and connections are allowed; set LimitNOFILE to 1024");
}

void hear_sqlite(int code, const std::string& text) {
  log_warning("SQLite " + std::to_string(code) + ": " + text);
}

// What is queued is written however the service ends.
struct Log {
  explicit Log(const std::string& level) { start_log(level); }
  ~Log() { stop_log(); }
  Log(const Log&) = delete;
  Log& operator=(const Log&) = delete;
};

// Then the motors are its business, and it lives.
bool another_has_the_store(const ServiceDefinition& service) {
  try {
    const schema::OwnerLock free(service.data_directory);
    return false;
  } catch (const schema::StoreFault& fault) {
    return fault.kind() == schema::StoreFault::Kind::busy;
  }
}

// A service that cannot begin keeps its first promise all the same.
void say_motors_off(const std::filesystem::path& config_folder) {
  constexpr std::chrono::seconds kAtMost{2};
  std::cerr << text_of(order_motors_off(config_folder, kAtMost)) << "\n";
}

int serve(const ServiceDefinition& service, const std::filesystem::path& config_folder) {
  const sigset_t end_signals = block_end_signals();
  const Log log(service.log_level);
  raise_descriptor_limit();
  if (!schema::listen_to_sqlite(&hear_sqlite)) log_warning("SQLite's own messages are not heard");
  std::atomic<bool> failed = false;
  LineService line(service, config_folder, [&failed] {
    failed = true;
    kill(getpid(), SIGTERM);
  });
  line.wait_for_benches(std::chrono::milliseconds(1000));
  const HttpServer server({service.listen_address, service.listen_port}, line);
  std::cout << "http://" << service.listen_address << ":" << server.port() << "/" << std::endl;
  if (const auto patience = service_manager::watchdog())
    line.watch(*patience / 4, &service_manager::tell_alive);
  service_manager::tell_ready();
  wait_for_end(end_signals);
  service_manager::tell_stopping();
  std::cerr << "Ending: motors off, results kept.\n";
  return failed ? kInternal : kOk;
}

}  // namespace

int run_service(const std::filesystem::path& config_folder) {
  const std::optional<ServiceDefinition> service = service_or_say_why(config_folder);
  if (!service) return kConfiguration;
  try {
    return serve(*service, config_folder);
  } catch (const schema::StoreFault& fault) {
    std::cerr << "Storage: " << fault.what() << ".\n";
    if (another_has_the_store(*service)) return kBusy;
    say_motors_off(config_folder);
    return fault.kind() == schema::StoreFault::Kind::busy ? kBusy : kStorage;
  } catch (const std::filesystem::filesystem_error& fault) {
    std::cerr << "Storage: " << fault.what() << ".\n";
    say_motors_off(config_folder);
    return kStorage;
  } catch (const std::system_error& error) {
    std::cerr << "The pages cannot be served: " << error.what() << "\n";
    return kConfiguration;
  } catch (const std::exception& stray) {
    std::cerr << "Internal fault: " << stray.what() << ". Tell the maintainer.\n";
    say_motors_off(config_folder);
    return kInternal;
  }
}

}  // namespace endgate::daemon
