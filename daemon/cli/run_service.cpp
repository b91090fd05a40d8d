#include "daemon/cli/run_service.h"

#include <sys/resource.h>
#include <unistd.h>

#include <algorithm>
#include <atomic>
#include <cerrno>
#include <csignal>
#include <fstream>
#include <iostream>
#include <iterator>
#include <system_error>

#include "daemon/cli/exit_status.h"
#include "daemon/cli/service_manager.h"
#include "daemon/definitions/data_directory.h"
#include "daemon/definitions/load.h"
#include "daemon/line/line_service.h"
#include "daemon/line/order_motors_off.h"
#include "daemon/log/log.h"
#include "daemon/service/closed_page.h"
#include "daemon/service/http_server.h"
#include "schema/owner_lock.h"
#include "schema/sqlite_log.h"

namespace endgate::daemon {
namespace {

std::optional<std::string> text_of_service(const std::filesystem::path& folder) {
  std::ifstream in(folder / "service.toml");
  if (!in) return std::nullopt;
  return std::string(std::istreambuf_iterator<char>(in), {});
}

std::optional<ServiceDefinition> service_or_say_why(const std::filesystem::path& folder) {
  const std::filesystem::path path = folder / "service.toml";
  const std::optional<std::string> read = text_of_service(folder);
  if (!read) {
    std::cerr << path.string()
              << ": expected a readable file. Copy fixtures/scenario as a start.\n";
    return std::nullopt;
  }
  const std::string& text = *read;
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
bool another_has_the_store(const std::filesystem::path& data) {
  try {
    const schema::OwnerLock free(data);
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

// Nobody serves this folder: a motor that a dead service left running goes off all the same, unless
// the service is alive and only its file was spoilt meanwhile.
int end_without_service_file(const std::filesystem::path& config_folder) {
  const std::string text = text_of_service(config_folder).value_or("");
  std::error_code unreadable;
  if (!std::filesystem::is_directory(config_folder / "benches", unreadable)) return kConfiguration;
  if (!another_has_the_store(config_folder / data_directory_meant(text)))
    say_motors_off(config_folder);
  return kConfiguration;
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

// Some of what a full disk refuses, SQLite calls a failure of the disk.
bool is_full(const schema::StoreFault& fault, const std::filesystem::path& data) {
  constexpr std::uintmax_t kNearlyNothing = 1 << 20;
  if (fault.kind() == schema::StoreFault::Kind::full) return true;
  std::error_code unknown;
  const auto space = std::filesystem::space(data, unknown);
  return fault.kind() == schema::StoreFault::Kind::io && !unknown &&
         space.available < kNearlyNothing;
}

// Nothing: the disk is full.
std::optional<int> serve_unless_full(const ServiceDefinition& service,
                                     const std::filesystem::path& config_folder) {
  try {
    return serve(service, config_folder);
  } catch (const schema::StoreFault& fault) {
    if (!is_full(fault, service.data_directory)) throw;
    std::cerr << "Storage: " << fault.what() << ".\n";
  } catch (const std::filesystem::filesystem_error& fault) {
    if (fault.code() != std::errc::no_space_on_device) throw;
    std::cerr << "Storage: " << fault.what() << ".\n";
  }
  return std::nullopt;
}

bool has_space(const std::filesystem::path& data) {
  constexpr std::uintmax_t kWorthATry = 8 << 20;
  std::error_code unknown;
  const auto space = std::filesystem::space(data, unknown);
  return unknown || space.available >= kWorthATry;
}

// A full disk heals: the service says so to whoever asks, and begins once there is space.  False: it
// was told to end.
bool wait_for_space(const ServiceDefinition& service, const std::string& motors) {
  constexpr timespec kLookAgain{2, 0};
  const sigset_t end_signals = block_end_signals();
  const ClosedPage page({service.listen_address, service.listen_port},
                        "The disk of " + service.data_directory.string() +
                            " is full, so nothing can be kept. Make space on it; the service then "
                            "begins by itself within seconds. " +
                            motors);
  service_manager::tell_ready();
  while (true) {
    const int signal = sigtimedwait(&end_signals, nullptr, &kLookAgain);
    service_manager::tell_alive();
    if (signal == SIGTERM || signal == SIGINT) return false;
    if (signal < 0 && errno == EAGAIN && has_space(service.data_directory)) return true;
  }
}

int serve_once_there_is_space(const ServiceDefinition& service,
                              const std::filesystem::path& config_folder) {
  constexpr std::chrono::seconds kMotorsWithin{2};
  std::string motors;
  while (true) {
    if (const auto ended = serve_unless_full(service, config_folder)) return *ended;
    if (motors.empty()) {
      motors = text_of(order_motors_off(config_folder, kMotorsWithin));
      std::cerr << motors << " Waiting for space on the disk." << std::endl;
    }
    if (!wait_for_space(service, motors)) return kStorage;
  }
}

}  // namespace

int run_service(const std::filesystem::path& config_folder) {
  const std::optional<ServiceDefinition> service = service_or_say_why(config_folder);
  if (!service) return end_without_service_file(config_folder);
  try {
    return serve_once_there_is_space(*service, config_folder);
  } catch (const schema::StoreFault& fault) {
    std::cerr << "Storage: " << fault.what() << ".\n";
    if (another_has_the_store(service->data_directory)) return kBusy;
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
