// `endgate alarms`

#include <iostream>

#include "daemon/cli/commands.h"
#include "daemon/cli/exit_status.h"
#include "daemon/cli/fact_way.h"
#include "daemon/cli/text_table.h"
#include "daemon/line/enter_check.h"
#include "daemon/line/say_time.h"
#include "daemon/queries/bench_checks.h"

namespace endgate::daemon {
namespace {

int list(const StorePlace& place) {
  const schema::StoreReader store(store_folder(place));
  const std::vector<KeptAlarm> alarms = store.open_alarms();
  std::vector<TextRow> rows{{"alarm", "bench", "code", "state", "owner", "since (UTC)", "what"}};
  for (const KeptAlarm& alarm : alarms) {
    const auto history = store.alarm_history(opened_by(alarm));
    rows.push_back({std::to_string(opened_by(alarm)), alarm.fact.bench, alarm.fact.code,
                    alarm.fact.state, alarm.fact.owner,
                    say_utc_minute(history.front().fact.at.utc_ms), alarm.fact.text});
  }
  if (!alarms.empty()) write_table(rows, std::cout);
  std::cerr << alarms.size() << (alarms.size() == 1 ? " alarm is open\n" : " alarms are open\n");
  return alarms.empty() ? kOk : kNegative;
}

}  // namespace

int run_command(const AlarmsCommand& command) {
  if (command.take == 0 && command.close == 0) return list(command.store);
  const bool closes = command.close > 0;
  const AlarmStep step{.opened = closes ? command.close : command.take,
                       .state = closes ? "closed" : "owned",
                       .by = command.by,
                       .cause = command.cause,
                       .action = command.action};
  FactWay way(command.store);
  return tell(way.enter(
      [&](schema::StoreWriter& writer) {
        return enter_alarm_step(writer, way.folder().string(), step);
      },
      "/api/v1/alarms/" + std::to_string(step.opened),
      {{"state", step.state}, {"by", step.by}, {"cause", step.cause}, {"action", step.action}}));
}

}  // namespace endgate::daemon
