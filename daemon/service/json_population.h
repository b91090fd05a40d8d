// Trends by batch, capability, yield and what-if as JSON; SI numbers with the unit in the key.

#pragma once

#include <string>

#include "daemon/queries/capability_told.h"
#include "daemon/queries/fail_causes.h"
#include "daemon/queries/together_told.h"
#include "daemon/queries/trend_told.h"
#include "daemon/queries/unit_risk_told.h"
#include "daemon/queries/what_if.h"
#include "daemon/queries/yield_told.h"

namespace endgate::daemon {

[[nodiscard]] std::string told_json(const TrendTold& told);
[[nodiscard]] std::string capability_json(const CapabilityTold& told);
[[nodiscard]] std::string yield_json(const YieldTold& told, const FailCauses& causes);
[[nodiscard]] std::string what_if_json(const WhatIf& answer, const std::string& metric);
[[nodiscard]] std::string risk_json(const UnitRiskTold& told);
[[nodiscard]] std::string together_json(const TogetherTold& told);

}  // namespace endgate::daemon
