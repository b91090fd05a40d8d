// What all units of a model say together: batches and causes, capability, yield, what-if.
// The same filters for all: model, bench, batch, purpose (production unless told).

#include <charconv>

#include "daemon/service/handlers.h"
#include "daemon/service/json_population.h"
#include "daemon/service/parameters.h"
#include "daemon/service/store_query.h"

namespace endgate::daemon::handle {
namespace {

Response json(std::string body) {
  Response response;
  response.body = std::move(body);
  return response;
}

Response no_metric() {
  return refusal(404, "U-215",
                 "There is no metric of that id. The ids are listed in schema/metrics.toml.");
}

Response no_model() {
  return refusal(400, "U-218", "Say which model: model=MODEL. Models are not mixed.");
}

std::string metric_asked(const Request& request) { return query_value(request, "metric"); }

TrendFilter filter_asked(const Request& request) {
  TrendFilter filter{.model = query_value(request, "model"),
                     .bench = query_value(request, "bench"),
                     .batch = query_value(request, "batch")};
  const std::string purpose = query_value(request, "purpose");
  if (!purpose.empty()) filter.purpose = purpose;
  return filter;
}

// False: `text` is there and no number.
bool read_number(const std::string& text, std::optional<double>& into) {
  if (text.empty()) return true;
  double value = 0;
  const auto read = std::from_chars(text.data(), text.data() + text.size(), value);
  if (read.ec != std::errc() || read.ptr != text.data() + text.size()) return false;
  into = value;
  return true;
}

}  // namespace

void trend_batches(Application& application, const Request& request, const Reply& reply) {
  if (query_value(request, "model").empty()) return reply(no_model());
  ask_store(application, reply,
            [filter = filter_asked(request),
             metric = metric_asked(request)](const schema::StoreReader& store) {
              const auto told = told_of(store, filter, metric);
              return told ? json(told_json(*told)) : no_metric();
            });
}

void capability(Application& application, const Request& request, const Reply& reply) {
  if (query_value(request, "model").empty()) return reply(no_model());
  ask_store(application, reply,
            [filter = filter_asked(request),
             metric = metric_asked(request)](const schema::StoreReader& store) {
              const auto told = capability_of(store, filter, metric);
              return told ? json(capability_json(*told)) : no_metric();
            });
}

void yield(Application& application, const Request& request, const Reply& reply) {
  if (query_value(request, "model").empty()) return reply(no_model());
  ask_store(application, reply, [filter = filter_asked(request)](const schema::StoreReader& store) {
    return json(yield_json(yield_of(store, filter)));
  });
}

void what_if(Application& application, const Request& request, const Reply& reply) {
  if (query_value(request, "model").empty()) return reply(no_model());
  DraftLimit draft{.metric = metric_asked(request)};
  if (!read_number(query_value(request, "lower_si"), draft.lower) ||
      !read_number(query_value(request, "upper_si"), draft.upper) || (!draft.lower && !draft.upper))
    return reply(refusal(400, "U-216", "Give lower_si, upper_si or both as numbers in SI."));
  if (draft.lower && draft.upper && *draft.lower >= *draft.upper)
    return reply(refusal(400, "U-216", "lower_si must be below upper_si."));
  ask_store(application, reply,
            [filter = filter_asked(request), draft](const schema::StoreReader& store) {
              const auto answer = daemon::what_if(store, filter, draft);
              return answer ? json(what_if_json(*answer, draft.metric))
                            : refusal(404, "U-217",
                                      "No test of that model was held against a limit on that "
                                      "metric.");
            });
}

}  // namespace endgate::daemon::handle
