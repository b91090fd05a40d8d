// Which way does a fact take to truth: our own writer, or the daemon that owns the store?

#pragma once

#include <filesystem>
#include <map>
#include <memory>
#include <optional>
#include <string>

#include "daemon/cli/exit_status.h"
#include "daemon/cli/store_place.h"
#include "daemon/line/application.h"
#include "schema/store.h"

namespace endgate::daemon {

class FactWay {
 public:
  // Throws StoreFault::busy when the store has an owner and no --config says where it listens.
  explicit FactWay(const StorePlace& place);

  [[nodiscard]] const std::filesystem::path& folder() const { return folder_; }
  // `make` with our own writer, or the same asked of the daemon at `target`.
  [[nodiscard]] Application::Entered enter(const Application::MakeFact& make,
                                           const std::string& target,
                                           const std::map<std::string, std::string>& fields);

 private:
  std::filesystem::path folder_;
  std::unique_ptr<schema::StoreWriter> writer_;
  std::optional<ServiceDefinition> service_;
};

// Says what was kept or refused.  The exit status of a refusal: `wrong` when what was typed, or the
// file that was named, cannot be taken as it is (422), else kNegative.
[[nodiscard]] int tell(const Application::Entered& answer, ExitStatus wrong = kUsage);

}  // namespace endgate::daemon
