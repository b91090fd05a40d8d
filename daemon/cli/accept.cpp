// `endgate accept`: a definition text becomes a fact, through the running daemon or, when none
// runs, under the owner lock.

#include <fstream>
#include <iostream>
#include <iterator>
#include <memory>
#include <optional>

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

  // The text is the one accepted last.  A calibration is also made by command, so a file that still
  // says an older version is behind, not new: only naming that file takes it back.
  [[nodiscard]] bool is_accepted(const DefinitionFile& file) const {
    if (file.kind == DefinitionKind::calibration)
      for (const schema::Definition& version : schema::StoreReader(folder_).definitions())
        if (version.kind == "calibration" && version.text == file.text) return true;
    const auto last =
        schema::StoreReader(folder_).current_definition(name_of(file.kind), file.subject);
    return last && last->text == file.text;
  }

  int accept(const fs::path& path, const std::string& text) {
    const Application::AcceptCommand asked{path.generic_string(), text, command_.by, command_.why,
                                           command_.second};
    const auto answer =
        writer_ ? accept_text(*writer_, folder_, asked) : accept_through_daemon(*service_, asked);
    if (const auto* accepted = std::get_if<Application::Accepted>(&answer)) {
      std::cout << accepted->id << "\n";
      return kOk;
    }
    std::cerr << std::get<CommandRefusal>(answer).sentence << "\n";
    return kConfiguration;
  }

 private:
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

// All or nothing as far as the files go: with one wrong file none is accepted.
int accept_folder(const AcceptFilesCommand& command) {
  const ConfigurationFolder folder = read_configuration(command.path);
  for (const DefinitionError& error : folder.errors) std::cerr << error.text() << "\n";
  if (!folder.errors.empty()) {
    std::cerr << "Nothing was accepted.\n";
    return kConfiguration;
  }
  Acceptor acceptor(command);
  bool any = false;
  for (const DefinitionFile& file : folder.files) {
    if (file.kind == DefinitionKind::service || acceptor.is_accepted(file)) continue;
    const int status = acceptor.accept(file.path, file.text);
    if (status != kOk) return status;
    any = true;
  }
  if (!any) std::cerr << "Nothing new: every file says what was accepted last.\n";
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
