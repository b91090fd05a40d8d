// `endgate check-bench BENCH KIND NAME=NUMBER ...`

#include "daemon/cli/commands.h"
#include "daemon/cli/exit_status.h"
#include "daemon/cli/fact_way.h"
#include "daemon/line/enter_check.h"

namespace endgate::daemon {

int run_command(const CheckBenchCommand& command) {
  CheckEntry entry{
      .bench = command.bench, .kind = command.kind, .subject = command.subject, .by = command.by};
  for (const std::string& reading : command.readings)
    entry.readings += (entry.readings.empty() ? "" : " ") + reading;
  FactWay way(command.store);
  const Application::Entered answer = way.enter(
      [&](schema::StoreWriter& writer) {
        return enter_check(writer, way.folder().string(), entry);
      },
      "/api/v1/benches/" + entry.bench + "/checks",
      {{"kind", entry.kind},
       {"subject", entry.subject},
       {"by", entry.by},
       {"readings", entry.readings}});
  const int status = tell(answer);
  const auto* kept = std::get_if<Application::Accepted>(&answer);
  return kept != nullptr && kept->id.starts_with("out_of_control") ? kNegative : status;
}

}  // namespace endgate::daemon
