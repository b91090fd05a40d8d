// `endgate head`: a line to keep elsewhere, which later proves that this past was not written anew

#include <iostream>

#include "daemon/cli/commands.h"
#include "daemon/cli/exit_status.h"
#include "daemon/cli/store_place.h"
#include "schema/witness.h"

namespace endgate::daemon {
namespace {

// Nobody else has the store: its head is signed as it stands.  Else the service has signed one at
// most 256 facts ago, and signs the next by itself.
bool sign_now(const std::filesystem::path& folder) try {
  schema::StoreWriter(folder).sign_head();
  return true;
} catch (const schema::StoreFault& fault) {
  if (fault.kind() != schema::StoreFault::Kind::busy) throw;
  return false;
}

}  // namespace

int run_command(const HeadCommand& command) {
  const std::filesystem::path folder = store_folder(command.store);
  { const schema::StoreReader there_is_a_store(folder); }
  const bool fresh = sign_now(folder);
  const schema::StoreReader store(folder);
  const schema::WitnessedHead newest = schema::newest_witnessed(store);
  std::cout << line_of(newest) << "\n";
  const schema::Position behind = store.last_position() - newest.signed_head.position;
  if (!fresh && behind > 0)
    std::cerr << "The store is in use: this is its newest signed head, " << behind
              << " facts behind the last.\n";
  return kOk;
}

}  // namespace endgate::daemon
