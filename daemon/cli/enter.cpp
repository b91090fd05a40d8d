// `endgate lots`, `return`, `repair`, `decide`, `withdraw`: one fact that a person enters.

#include "daemon/cli/commands.h"
#include "daemon/cli/fact_way.h"
#include "daemon/line/enter_unit_fact.h"

namespace endgate::daemon {

int run_command(const EnterCommand& command) {
  FactWay way(command.store);
  return tell(way.enter(
      [&](schema::StoreWriter& writer) {
        return enter_unit_fact(writer, way.folder(), command.kind, command.fields);
      },
      "/api/v1/facts/" + command.kind, command.fields));
}

}  // namespace endgate::daemon
