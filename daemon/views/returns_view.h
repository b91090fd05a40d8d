// Returns of a model, and how findings agree with likely causes, as the population page shows them.

#pragma once

#include "daemon/queries/cause_agreement.h"
#include "daemon/queries/returns_told.h"
#include "reports/returns_section.h"

namespace endgate::daemon {

[[nodiscard]] reports::ReturnsShown returns_shown(const ReturnsTold& told,
                                                  const CauseAgreement& agreement);

}  // namespace endgate::daemon
