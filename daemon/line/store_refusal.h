// What is said when the store could not take what somebody entered.

#pragma once

#include "daemon/line/application.h"
#include "schema/store.h"

namespace endgate::daemon {

[[nodiscard]] CommandRefusal store_refusal(const schema::StoreFault& fault);
[[nodiscard]] CommandRefusal store_behind();

}  // namespace endgate::daemon
