// Limit band, curve and points of a test, from SI to the picture.

#pragma once

#include "daemon/line/line_state.h"
#include "reports/curve_chart.h"
#include "reports/flat_curve.h"
#include "schema/facts.h"

namespace endgate::daemon {

[[nodiscard]] reports::CurveChart curve_chart_of(const LineState& line);
[[nodiscard]] reports::CurveChart curve_chart_of(const schema::Record& record);
[[nodiscard]] reports::FlatCurve flat_curve_of(const schema::Record& record);

}  // namespace endgate::daemon
