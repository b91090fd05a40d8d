// Which tests does a question on the command line mean, and can it be asked of this store?

#pragma once

#include <optional>

#include "daemon/queries/trend_columns.h"
#include "daemon/views/tests_asked.h"
#include "schema/store.h"

namespace endgate::daemon {

// Says on standard error what is wrong: a model, bench, metric or purpose that does not exist, or a
// day that is none.
[[nodiscard]] std::optional<TrendFilter> filter_asked(const schema::StoreReader& store,
                                                      const TestsAsked& asked);

}  // namespace endgate::daemon
