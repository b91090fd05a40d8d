// Returns of a model, and how findings agree with likely causes, as JSON.

#pragma once

#include <string>

#include "daemon/queries/cause_agreement.h"
#include "daemon/queries/returns_told.h"

namespace endgate::daemon {

[[nodiscard]] std::string returns_json(const ReturnsTold& told, const CauseAgreement& agreement);

}  // namespace endgate::daemon
