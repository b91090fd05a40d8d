// `endgate take`: a bench that a service left claimed which is gone.

#include "daemon/cli/commands.h"
#include "daemon/cli/daemon_client.h"
#include "daemon/cli/fact_way.h"
#include "daemon/cli/store_place.h"

namespace endgate::daemon {

int run_command(const TakeBenchCommand& command) {
  return tell(enter_through_daemon(service_in(command.config),
                                   "/api/v1/benches/" + command.bench + "/take",
                                   {{"by", command.by}, {"why", command.why}}));
}

}  // namespace endgate::daemon
