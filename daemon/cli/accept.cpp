// `endgate accept`: a definition text becomes a fact, through the running daemon or, when none
// runs, under the owner lock.

#include <fstream>
#include <iostream>
#include <iterator>
#include <memory>
#include <optional>
#include <vector>

#include "daemon/cli/commands.h"
#include "daemon/cli/daemon_client.h"
#include "daemon/cli/exit_status.h"
#include "daemon/cli/store_place.h"
#include "daemon/definitions/load.h"
#include "daemon/line/accept_text.h"
#include "schema/store.h"

namespace endgate::daemon {
namespace {

namespace fs = std::filesystem;

// Either way to truth: our own writer, or the daemon that holds the lock.
class Acceptor {
 public:
  explicit Acceptor(const AcceptFilesCommand& command)
      : command_(command), folder_(store_folder(command.store)) {
    fs::create_directories(folder_);
    try {
      writer_ = std::make_unique<schema::StoreWriter>(folder_);
    } catch (const schema::StoreFault& fault) {
      if (fault.kind() != schema::StoreFault::Kind::busy || command.store.config.empty()) throw;
      service_ = service_in(command.store.config);
    }
  }

  enum class Known { no, in_force, older };

  // A calibration is also made by command, so a file that still says an older version is behind,
  // not new: only naming that file takes it back.
  [[nodiscard]] Known known(const DefinitionFile& file) const {
    const schema::StoreReader store(folder_);
    const auto last = store.current_definition(name_of(file.kind), file.subject);
    if (last && last->text == file.text) return Known::in_force;
    if (file.kind == DefinitionKind::calibration)
      for (const schema::Definition& version : store.definitions())
        if (version.kind == "calibration" && version.text == file.text) return Known::older;
    return Known::no;
  }

  // Says what stands against it; false then.
  [[nodiscard]] bool would_accept(const DefinitionFile& file) const {
    const auto refusal = why_not_accepted(folder_, asked(file.path, file.text));
    if (refusal) std::cerr << refusal->sentence << "\n";
    return !refusal;
  }

  int accept(const fs::path& path, const std::string& text) {
    const Application::AcceptCommand command = asked(path, text);
    const auto answer = writer_ ? accept_text(*writer_, folder_, command)
                                : accept_through_daemon(*service_, command);
    if (const auto* accepted = std::get_if<Application::Accepted>(&answer)) {
      std::cout << accepted->id << "\n";
      return kOk;
    }
    const auto& refusal = std::get<CommandRefusal>(answer);
    std::cerr << refusal.sentence << "\n";
    return refusal.code == kNoNameOrReason ? kUsage : kConfiguration;
  }

 private:
  static constexpr const char* kNoNameOrReason = "U-202";

  [[nodiscard]] Application::AcceptCommand asked(const fs::path& path,
                                                 const std::string& text) const {
    return {path.generic_string(), text, command_.by, command_.why, command_.second};
  }

  const AcceptFilesCommand& command_;
  fs::path folder_;
  std::unique_ptr<schema::StoreWriter> writer_;
  std::optional<ServiceDefinition> service_;
};

int accept_file(const AcceptFilesCommand& command) {
  std::ifstream in(command.path, std::ios::binary);
  if (!in) throw ConfigurationFault(command.path.string() + ": expected a readable file");
  return Acceptor(command).accept(command.path, {std::istreambuf_iterator<char>(in), {}});
}

std::vector<DefinitionFile> new_files(const ConfigurationFolder& folder, const Acceptor& acceptor) {
  std::vector<DefinitionFile> files;
  for (const DefinitionFile& file : folder.files) {
    if (file.kind == DefinitionKind::service) continue;
    const Acceptor::Known known = acceptor.known(file);
    if (known == Acceptor::Known::no) files.push_back(file);
    if (known == Acceptor::Known::older)
      std::cerr << file.path.string()
                << ": says an older version, so it was left out. To take that version back, accept "
                   "this file by its name.\n";
  }
  return files;
}

int nothing_accepted() {
  std::cerr << "Nothing was accepted.\n";
  return kConfiguration;
}

// All or nothing: every file is asked before the first is kept.  What the daemon alone may refuse
// afterwards (a full disk) leaves the files before it accepted, and says so.
int accept_folder(const AcceptFilesCommand& command) {
  const ConfigurationFolder folder = read_configuration(command.path);
  for (const DefinitionError& error : folder.errors) std::cerr << error.text() << "\n";
  if (!folder.errors.empty()) return nothing_accepted();
  Acceptor acceptor(command);
  const std::vector<DefinitionFile> files = new_files(folder, acceptor);
  bool right = true;
  for (const DefinitionFile& file : files) right = acceptor.would_accept(file) && right;
  if (!right) return nothing_accepted();
  for (std::size_t i = 0; i < files.size(); ++i) {
    const int status = acceptor.accept(files[i].path, files[i].text);
    if (status == kOk) continue;
    std::cerr << files[i].path.string() << " was not accepted; the " << i
              << " files before it were and stay so.\n";
    return status;
  }
  if (files.empty()) std::cerr << "Nothing new was accepted.\n";
  return kOk;
}

// A folder that is accepted says itself where its store is, and so does the folder of a file.
AcceptFilesCommand completed(AcceptFilesCommand command) {
  if (!command.store.config.empty() || !command.store.data.empty()) return command;
  const fs::path folder = fs::is_directory(command.path)
                              ? command.path
                              : fs::absolute(command.path).parent_path().parent_path();
  if (fs::is_directory(command.path) || fs::exists(folder / "service.toml"))
    command.store.config = folder;
  return command;
}

}  // namespace

int run_command(const AcceptFilesCommand& command) {
  const AcceptFilesCommand full = completed(command);
  return fs::is_directory(full.path) ? accept_folder(full) : accept_file(full);
}

}  // namespace endgate::daemon
