// Alarms and checks as JSON.

#include "daemon/queries/bench_checks.h"
#include "daemon/service/json_value.h"

namespace endgate::daemon {
namespace {

Json values_of(const std::vector<schema::MetricValue>& values) {
  Json list = Json::array();
  for (const schema::MetricValue& value : values)
    list.push_back({{"id", value.id},
                    {"value_si", finite_or_null(value.value)},
                    {"u_si", finite_or_null(value.u)}});
  return list;
}

}  // namespace

std::string alarms_json(const std::vector<KeptAlarm>& alarms) {
  Json list = Json::array();
  for (const KeptAlarm& alarm : alarms)
    list.push_back({{"alarm", opened_by(alarm)},
                    {"bench", alarm.fact.bench},
                    {"code", alarm.fact.code},
                    {"state", alarm.fact.state},
                    {"text", alarm.fact.text},
                    {"owner", text_or_null(alarm.fact.owner)}});
  return written({{"alarms", list}});
}

std::string checks_json(const std::vector<KeptCheck>& checks,
                        const std::vector<UnitEvent>& withdrawn) {
  Json list = Json::array();
  for (const KeptCheck& check : checks)
    list.push_back({{"position", check.position},
                    {"kind", check.fact.kind},
                    {"subject", check.fact.subject},
                    {"outcome", check.fact.outcome},
                    {"text", check.fact.text},
                    {"by", check.fact.by},
                    {"at_utc_ms", check.fact.at.utc_ms},
                    {"measured", values_of(check.fact.measured)},
                    {"expected", values_of(check.fact.expected)}});
  return written({{"checks", list}, {"withdrawn", withdrawn_entries(withdrawn)}});
}

}  // namespace endgate::daemon
