#include "daemon/service/routes.h"

#include <array>
#include <exception>
#include <optional>

#include "daemon/service/fault_answer.h"
#include "daemon/service/gate.h"
#include "daemon/service/handlers.h"
#include "daemon/service/page_answer.h"
#include "reports/page_frame.h"

namespace endgate::daemon {
namespace {

constexpr std::array kRoutes{
    Route{"GET", "/", handle::line_page},
    Route{"GET", "/line/{bench}", handle::line_page},
    Route{"GET", "/units", handle::units_page},
    Route{"GET", "/units/{serial}", handle::unit_page},
    Route{"GET", "/units/{serial}/{attempt}", handle::unit_page},
    Route{"GET", "/lots", handle::lot_page},
    Route{"GET", "/lots/{lot}", handle::lot_page},
    Route{"GET", "/trends", handle::trends_page},
    Route{"GET", "/population", handle::population_page},
    Route{"GET", "/limits", handle::limits_page},
    Route{"GET", "/control", handle::control_page},
    Route{"GET", "/risk", handle::risk_page},
    Route{"GET", "/gauge", handle::gauge_page},
    Route{"GET", "/rating", handle::rating_page},
    Route{"GET", "/compare", handle::compare_page},
    Route{"GET", "/endurance", handle::endurance_page},
    Route{"GET", "/benches", handle::benches_page},
    Route{"GET", "/benches/{bench}", handle::bench_page},
    Route{"GET", "/benches/{bench}/calibrate", handle::calibrate_page},
    Route{"GET", "/alarms", handle::alarms_page},
    Route{"GET", "/import", handle::import_page},
    Route{"GET", "/web/{file}", handle::file},
    Route{"GET", "/healthz", handle::alive},
    Route{"GET", "/readyz", handle::ready},
    Route{"GET", "/api/v1/live", handle::live},
    Route{"GET", "/api/v1/health", handle::health},
    Route{"GET", "/api/v1/benches", handle::benches},
    Route{"GET", "/api/v1/benches/{bench}", handle::bench},
    Route{"POST", "/api/v1/benches/{bench}/scan", handle::scan},
    Route{"POST", "/api/v1/benches/{bench}/start", handle::start},
    Route{"POST", "/api/v1/benches/{bench}/stop", handle::stop, true},
    Route{"POST", "/api/v1/benches/{bench}/clear", handle::clear},
    Route{"POST", "/api/v1/benches/{bench}/take", handle::take_bench},
    Route{"GET", "/api/v1/units/{serial}", handle::unit},
    Route{"GET", "/api/v1/units/{serial}/standing", handle::standing},
    Route{"GET", "/api/v1/units/{serial}/{attempt}", handle::attempt},
    Route{"GET", "/api/v1/units/{serial}/{attempt}/trace", handle::trace},
    Route{"GET", "/api/v1/lots", handle::lot},
    Route{"GET", "/api/v1/lots/{lot}", handle::lot},
    Route{"GET", "/api/v1/trend", handle::trend},
    Route{"GET", "/api/v1/trend/batches", handle::trend_batches},
    Route{"GET", "/api/v1/trend/together", handle::trend_together},
    Route{"GET", "/api/v1/limits", handle::limits},
    Route{"GET", "/api/v1/control", handle::control},
    Route{"GET", "/api/v1/risk", handle::risk},
    Route{"GET", "/api/v1/capability", handle::capability},
    Route{"GET", "/api/v1/yield", handle::yield},
    Route{"GET", "/api/v1/what-if", handle::what_if},
    Route{"GET", "/api/v1/returns", handle::returns},
    Route{"GET", "/api/v1/gauge", handle::gauge},
    Route{"GET", "/api/v1/rating", handle::rating},
    Route{"GET", "/api/v1/compare", handle::compare},
    Route{"GET", "/api/v1/endurance", handle::endurance},
    Route{"GET", "/api/v1/alarms", handle::alarms},
    Route{"POST", "/api/v1/alarms/{number}", handle::answer_alarm},
    Route{"GET", "/api/v1/benches/{bench}/checks", handle::checks},
    Route{"POST", "/api/v1/benches/{bench}/checks", handle::enter_check},
    Route{"POST", "/api/v1/benches/{bench}/calibrate", handle::calibrate},
    Route{"POST", "/api/v1/accept", handle::accept},
    Route{"POST", "/api/v1/facts/{kind}", handle::enter_fact},
    Route{"GET", "/api/v1/export", handle::export_results},
    Route{"POST", kImportTarget, handle::import_results},
    Route{"POST", kImportLotsTarget, handle::import_lots},
};

std::string_view next_segment(std::string_view& pattern) {
  pattern.remove_prefix(1);  // the slash
  const std::size_t end = std::min(pattern.find('/'), pattern.size());
  const std::string_view segment = pattern.substr(0, end);
  pattern.remove_prefix(end);
  return segment;
}

using Parameters = std::map<std::string, std::string>;

std::optional<Parameters> match(std::string_view pattern, const std::vector<std::string>& path) {
  Parameters parameters;
  if (pattern == "/") return path.empty() ? std::optional(parameters) : std::nullopt;
  for (const std::string& segment : path) {
    if (pattern.empty()) return std::nullopt;
    const std::string_view part = next_segment(pattern);
    if (part.front() == '{')
      parameters[std::string(part.substr(1, part.size() - 2))] = segment;
    else if (part != segment)
      return std::nullopt;
  }
  return pattern.empty() ? std::optional(parameters) : std::nullopt;
}

bool asks_for_a_page(const Request& request) {
  return request.head.method == "GET" && !request.path.empty() && request.path.front() != "api" &&
         request.head.value("accept").find("text/html") != std::string::npos;
}

Response not_served(const Request& request) {
  std::string allow;
  for (const Route& route : kRoutes)
    if (match(route.pattern, request.path) && allow.find(route.method) == std::string::npos)
      allow += (allow.empty() ? "" : ", ") + std::string(route.method);
  if (allow.empty() && asks_for_a_page(request))
    return html(
        reports::message_page("", "There is nothing at this address", "The pages are those above."),
        404);
  if (allow.empty()) return refusal(404, "N-420", "There is nothing at this address.");
  Response response = refusal(405, "N-421", "This address does not take that method.");
  response.allow = allow;
  return response;
}

}  // namespace

std::span<const Route> routes() { return kRoutes; }

const Route* find_route(Request& request) {
  for (const Route& route : kRoutes) {
    if (route.method != request.head.method) continue;
    if (auto parameters = match(route.pattern, request.path)) {
      request.parameters = std::move(*parameters);
      return &route;
    }
  }
  return nullptr;
}

void answer(Application& application, Request request, const Reply& reply) {
  const Route* route = find_route(request);
  if (route == nullptr) return reply(not_served(request));
  try {
    route->handler(application, request, reply);
  } catch (const std::exception& fault) {
    reply(fault_answer(route->pattern, fault.what()));
  }
}

}  // namespace endgate::daemon
