// How do answers look as JSON?  SI numbers with the unit in the key; what is missing is null on
// purpose.
//
// Throws JsonFault for a number that is not finite and for text that is not UTF-8: an answer with
// a NaN in it would read as a known null.

#pragma once

#include <cstdint>
#include <optional>
#include <stdexcept>
#include <string>
#include <string_view>
#include <vector>

#include "analysis/metric_facts.h"
#include "daemon/line/application.h"
#include "daemon/line/line_state.h"
#include "daemon/queries/earlier_returns.h"
#include "daemon/queries/tests_shown.h"
#include "daemon/queries/unit_events.h"
#include "daemon/views/trace_view.h"
#include "reports/line_view.h"
#include "schema/store.h"

namespace endgate::daemon {

class JsonFault : public std::runtime_error {
 public:
  using std::runtime_error::runtime_error;
};

[[nodiscard]] std::string refusal_json(std::string_view code, std::string_view sentence);
// The same with what is wrong in a file, one sentence a fault.
[[nodiscard]] std::string refusal_json(std::string_view code, std::string_view sentence,
                                       const std::vector<std::string>& faults);
[[nodiscard]] std::string line_json(const LineState& line);
[[nodiscard]] std::string lines_json(const std::vector<LineState>& lines);
[[nodiscard]] std::string accepted_json(const std::string& id);
[[nodiscard]] std::string accepted_json(const std::string& id,
                                        const std::vector<std::string>& faults);
[[nodiscard]] std::string health_json(const Application::Health& health);
[[nodiscard]] std::string stopped_json(const std::string& bench);

[[nodiscard]] std::string unit_json(const UnitHistory& unit,
                                    const std::optional<BirthCompared>& birth);
[[nodiscard]] std::string record_json(const schema::StoredRecord& stored);
// `unit` has a standing.
[[nodiscard]] std::string standing_json(const UnitHistory& unit);

[[nodiscard]] std::string alarms_json(const std::vector<schema::Kept<schema::Alarm>>& alarms);
[[nodiscard]] std::string checks_json(const std::vector<schema::Kept<schema::BenchCheck>>& checks,
                                      const std::vector<UnitEvent>& withdrawn);

[[nodiscard]] std::string trend_json(const std::string& model, const analysis::MetricFacts& metric,
                                     const TestsShown& tests);

[[nodiscard]] std::string trace_json(const schema::TestStart& start, const TraceShown& trace);

// For the page's script: words and drawings, not facts.
[[nodiscard]] std::string view_json(const reports::LineView& view);
[[nodiscard]] std::string picture_json(const reports::LineView& view);

[[nodiscard]] const char* name_of(LinePhase phase);

}  // namespace endgate::daemon
