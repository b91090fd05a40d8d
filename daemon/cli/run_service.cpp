#include "daemon/cli/run_service.h"

#include <sys/resource.h>
#include <unistd.h>

#include <algorithm>
#include <atomic>
#include <cerrno>
#include <chrono>
#include <csignal>
#include <fstream>
#include <future>
#include <iostream>
#include <iterator>
#include <memory>
#include <system_error>
#include <thread>

#include "daemon/cli/alive_meanwhile.h"
#include "daemon/cli/exit_status.h"
#include "daemon/cli/service_manager.h"
#include "daemon/definitions/data_directory.h"
#include "daemon/definitions/load.h"
#include "daemon/line/line_service.h"
#include "daemon/line/off_keeper.h"
#include "daemon/log/log.h"
#include "daemon/service/closed_page.h"
#include "daemon/service/http_server.h"
#include "daemon/service/listen.h"
#include "schema/owner_lock.h"
#include "schema/sqlite_log.h"

namespace endgate::daemon {
namespace {

// A bench that answers has read motor off back long before; one that does not delays the start.
constexpr std::chrono::seconds kFirstActWithin{1};
constexpr std::chrono::seconds kMotorsWithin{2};

std::optional<std::string> text_of_service(const std::filesystem::path& folder) {
  std::ifstream in(folder / "service.toml");
  if (!in) return std::nullopt;
  return std::string(std::istreambuf_iterator<char>(in), {});
}

std::optional<ServiceDefinition> service_or_say_why(const std::filesystem::path& folder,
                                                    const std::optional<std::string>& text) {
  const std::filesystem::path path = folder / "service.toml";
  if (!text) {
    std::cerr << path.string()
              << ": expected a readable file. Copy fixtures/scenario as a start.\n";
    return std::nullopt;
  }
  auto loaded = load_service(*text, path.string());
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

// What is queued is written however the service ends.  A service without a log is better than none.
struct Log {
  explicit Log(const std::string& level) {
    try {
      start_log(level);
    } catch (const std::exception& fault) {
      std::cerr << "There is no log: " << fault.what() << "\n";
    }
  }
  ~Log() { stop_log(); }
  Log(const Log&) = delete;
  Log& operator=(const Log&) = delete;
};

// Asked on a thread that may hang with the disk of the store: then nothing is known of another, and
// a motor that runs for nobody is worse than a test that ends.
bool another_serves(const std::filesystem::path& data) {
  constexpr std::chrono::seconds kPatience{1};
  const auto answer = std::make_shared<std::promise<bool>>();
  auto lives = answer->get_future();
  try {
    std::thread([data, answer] { answer->set_value(schema::has_living_owner(data)); }).detach();
  } catch (const std::system_error&) {
    return schema::has_living_owner(data);
  }
  return lives.wait_for(kPatience) == std::future_status::ready && lives.get();
}

// One start: what it reads before anything else, and what holds however it ends.
struct Start {
  std::filesystem::path config_folder;
  std::filesystem::path data;  // of its store; as far as a spoilt service file says
  sigset_t end_signals;
  OffKeeper motors;
};

// Unless another service lives: then the motors are its business.
void say_motors_off(Start& start, std::chrono::milliseconds at_most) {
  std::error_code unreadable;
  if (!std::filesystem::is_directory(start.config_folder / "benches", unreadable)) return;
  if (another_serves(start.data)) return;
  std::cerr << text_of(start.motors.keep_off(at_most)) << std::endl;
}

// Once READY was told for the page of a full disk, the start that follows is under the watchdog, and
// a store to be brought up to date may take longer than that.  A start that hangs, as on a dead disk,
// must not be told alive for ever: the watchdog then starts the service anew, which says so.
std::unique_ptr<AliveMeanwhile> alive_meanwhile() {
  constexpr std::chrono::minutes kLongestStart{10};
  const auto patience = service_manager::watchdog().value_or(std::chrono::milliseconds(0));
  return std::make_unique<AliveMeanwhile>(patience / 4, kLongestStart,
                                          &service_manager::tell_alive);
}

int serve(const ServiceDefinition& service, Start& start) {
  std::atomic<bool> failed = false;
  auto meanwhile = alive_meanwhile();
  LineService line(
      service, start.config_folder,
      [&failed] {
        failed = true;
        kill(getpid(), SIGTERM);
      },
      [&start] { start.motors.hand_over(); });
  line.wait_for_benches(std::chrono::milliseconds(1000));
  const HttpServer server({service.listen_address, service.listen_port}, line,
                          [&line](const std::string& what) { line.on_stray(what); });
  std::cout << "http://" << service.listen_address << ":" << server.port() << "/" << std::endl;
  if (const auto patience = service_manager::watchdog())
    line.watch(*patience / 4, &service_manager::tell_alive,
               [pages = server.on_thread()](auto answer) {
                 pages(std::move(answer));
                 return true;
               });
  meanwhile.reset();
  service_manager::tell_ready();
  wait_for_end(start.end_signals);
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
std::optional<int> serve_unless_full(const ServiceDefinition& service, Start& start) {
  try {
    return serve(service, start);
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
bool wait_for_space(const ServiceDefinition& service, const sigset_t& end_signals,
                    const std::string& motors) {
  constexpr timespec kLookAgain{2, 0};
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

int serve_once_there_is_space(const ServiceDefinition& service, Start& start) {
  while (true) {
    if (const auto ended = serve_unless_full(service, start)) return *ended;
    const std::string motors = text_of(start.motors.keep_off(kMotorsWithin));
    std::cerr << motors << " Waiting for space on the disk." << std::endl;
    if (!wait_for_space(service, start.end_signals, motors)) return kStorage;
  }
}

int serve_or_say_why(const ServiceDefinition& service, Start& start) {
  raise_descriptor_limit();
  if (!schema::listen_to_sqlite(&hear_sqlite)) log_warning("SQLite's own messages are not heard");
  try {
    return serve_once_there_is_space(service, start);
  } catch (const schema::StoreFault& fault) {
    std::cerr << "Storage: " << fault.what() << ".\n";
    say_motors_off(start, kMotorsWithin);
    return fault.kind() == schema::StoreFault::Kind::busy ? kBusy : kStorage;
  } catch (const std::filesystem::filesystem_error& fault) {
    std::cerr << "Storage: " << fault.what() << ".\n";
    say_motors_off(start, kMotorsWithin);
    return kStorage;
  } catch (const CannotListen& error) {
    std::cerr << "The pages cannot be served: " << error.what() << ".\n";
    say_motors_off(start, kMotorsWithin);
    return kConfiguration;
  } catch (const std::exception& stray) {
    std::cerr << "Internal fault: " << stray.what() << ". Tell the maintainer.\n";
    say_motors_off(start, kMotorsWithin);
    return kInternal;
  }
}

}  // namespace

// Motors off come first: what follows may take long, or never end on a disk that hangs.
int run_service(const std::filesystem::path& config_folder) {
  const sigset_t end_signals = block_end_signals();
  const std::optional<std::string> text = text_of_service(config_folder);
  const std::optional<ServiceDefinition> service = service_or_say_why(config_folder, text);
  const Log log(service ? service->log_level : "warn");
  Start start{
      config_folder,
      service ? service->data_directory : config_folder / data_directory_meant(text.value_or("")),
      end_signals, OffKeeper(config_folder)};
  say_motors_off(start, kFirstActWithin);
  return service ? serve_or_say_why(*service, start) : kConfiguration;
}

}  // namespace endgate::daemon
