// Which tests does an address ask about, and can that be asked of this store?  The same for pages
// and for answers in JSON: model, metric, bench, batch, purpose (production unless told), since, until, lot.

#pragma once

#include <initializer_list>
#include <string_view>
#include <utility>
#include <vector>

#include "daemon/service/parameters.h"
#include "daemon/service/store_query.h"
#include "daemon/views/tests_known.h"

namespace endgate::daemon {

[[nodiscard]] inline TestsAsked tests_asked(const Request& request) {
  TestsAsked asked{.model = query_value(request, "model"),
                   .metric = query_value(request, "metric"),
                   .bench = query_value(request, "bench"),
                   .batch = query_value(request, "batch"),
                   .since = query_value(request, "since"),
                   .until = query_value(request, "until"),
                   .lot = query_value(request, "lot")};
  const std::string purpose = query_value(request, "purpose");
  if (!purpose.empty()) asked.purpose = purpose;
  return asked;
}

enum class AsksFor { metric, all_metrics };

// `tell(store, filter)` makes the Response, once the question can be asked.  `more`: names in the
// address that this question knows beside the filter.
template <class Tell>
void ask_tests(Application& application, const Request& request, const Reply& reply, AsksFor what,
               Tell tell, std::initializer_list<std::string_view> more = {}) {
  std::vector<std::string_view> names{"model",   "metric", "bench", "batch",
                                      "purpose", "since",  "until", "lot"};
  names.insert(names.end(), more);
  if (auto unknown = unknown_name(request, names)) return reply(std::move(*unknown));
  TestsAsked asked = tests_asked(request);
  if (what == AsksFor::all_metrics) asked.metric.clear();
  if (asked.model.empty())
    return reply(refusal(400, "U-218", "Say which model: model=MODEL. Models are not mixed."));
  if (what == AsksFor::metric && asked.metric.empty())
    return reply(refusal(400, "U-215", "Say which metric: metric=fad_400."));
  ask_store(application, reply, [asked, tell](const schema::StoreReader& store) {
    if (const auto wrong = wrong_with(store, asked, known_in(store)))
      return refusal(wrong->status, "U-215", wrong->sentence);
    return tell(store, filter_of(asked));
  });
}

}  // namespace endgate::daemon
