#include "daemon/service/json_lots.h"

#include "daemon/service/json_share.h"

namespace endgate::daemon {
namespace {

Json named_shares(const std::vector<LotTold::Named>& all) {
  Json out = Json::array();
  for (const LotTold::Named& named : all)
    out.push_back({{"name", named.words}, {"units", share_json(named.units)}});
  return out;
}

Json unit_with_lot(const UnitWithLot& unit) {
  const UnitWithLot::FirstTest& first = unit.first;
  return {{"serial", unit.serial},
          {"part", unit.part},
          {"through_batch", text_or_null(unit.through)},
          {"repair_position", unit.repair > 0 ? Json(unit.repair) : Json(nullptr)},
          {"still_held", unit.still_held},
          {"model", text_or_null(first.model)},
          {"first_verdict", text_or_null(first.verdict)},
          {"first_reason_code", text_or_null(first.reason_code)},
          {"first_reason_subject", text_or_null(first.reason_subject)},
          {"first_likely_cause", text_or_null(first.likely_cause)},
          {"newest_verdict", text_or_null(unit.verdict)},
          {"standing", text_or_null(unit.standing)},
          {"came_back", unit.came_back}};
}

}  // namespace

std::string lot_json(const LotTold& told) {
  Json units = Json::array();
  for (const UnitWithLot& unit : told.units) units.push_back(unit_with_lot(unit));
  return written({{"lot", told.lot},
                  {"part", text_or_null(told.part)},
                  {"sentences", words_of(told)},
                  {"count", told.count},
                  {"no_longer", told.no_longer},
                  {"first_pass", share_json(told.passed)},
                  {"first_undecided", share_json(told.undecided)},
                  {"first_fail", share_json(told.failed)},
                  {"models", told.models},
                  {"first_pass_of_others", share_json(told.others_passed)},
                  {"first_pass_behind_repair", share_json(told.repaired_passed)},
                  {"released", share_json(told.released)},
                  {"held", share_json(told.held)},
                  {"rejected", share_json(told.rejected)},
                  {"came_back", share_json(told.came_back)},
                  {"reasons", named_shares(told.reasons)},
                  {"causes", named_shares(told.causes)},
                  {"units", units}});
}

}  // namespace endgate::daemon
