// Forward from a lot of parts to its units, as JSON and as a page.

#include "daemon/service/command_body.h"
#include "daemon/service/handlers.h"
#include "daemon/service/json_lots.h"
#include "daemon/service/page_answer.h"
#include "daemon/service/parameters.h"
#include "daemon/service/store_query.h"
#include "daemon/views/lot_view.h"
#include "reports/trend_page.h"

namespace endgate::daemon::handle {
namespace {

constexpr const char* kLotsHeading = "Units with a lot of parts";

struct LotAsked {
  std::string lot{}, part{};
};

LotAsked lot_asked(const Request& request) {
  const auto named = request.parameters.find("lot");
  return {named == request.parameters.end() ? query_value(request, "lot") : named->second,
          query_value(request, "part")};
}

Response lot_page_answer(const schema::StoreReader& store, const LotAsked& asked) {
  reports::QuestionForm form = lot_form(asked.lot, asked.part, store.part_names());
  if (asked.lot.empty())
    return html(reports::refusal_page("Units", kLotsHeading,
                                      "Type a lot, as it stands on a delivery note or on a unit's "
                                      "page: this page then lists the units that hold it.",
                                      form));
  const LotTold told = lot_told(store, asked.lot, asked.part);
  if (told.units.empty())
    return html(reports::refusal_page("Units", kLotsHeading, words_of(told).front(), form), 404);
  return html(page_of(lot_page_of(told, std::move(form))));
}

}  // namespace

void lot(Application& application, const Request& request, const Reply& reply) {
  if (auto unknown = unknown_name(request, {"lot", "part"})) return reply(std::move(*unknown));
  if (lot_asked(request).lot.empty())
    return reply(refusal(400, "U-255", "Say which lot: lot=LOT, or in the address."));
  ask_store(application, reply, [asked = lot_asked(request)](const schema::StoreReader& store) {
    const LotTold told = lot_told(store, asked.lot, asked.part);
    if (told.units.empty()) return refusal(404, "U-255", words_of(told).front());
    return json(lot_json(told));
  });
}

void lot_page(Application& application, const Request& request, const Reply& reply) {
  ask_store(application, reply, [asked = lot_asked(request)](const schema::StoreReader& store) {
    return lot_page_answer(store, asked);
  });
}

}  // namespace endgate::daemon::handle
