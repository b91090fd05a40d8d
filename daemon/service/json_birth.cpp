#include "daemon/service/json_birth.h"

namespace endgate::daemon {
namespace {

// Null below kFewestOfAnAge.
Json band_json(const EarlierReturns* earlier, const std::string& metric) {
  const EarlierReturns::Band* band = earlier == nullptr ? nullptr : band_of(*earlier, metric);
  if (band == nullptr || !band->told()) return nullptr;
  return {{"units", band->units},
          {"bench_taken_out", false},
          {"low_si", finite(band->low)},
          {"middle_si", finite(band->middle)},
          {"high_si", finite(band->high)}};
}

Json difference_json(const analysis::Difference& one, const EarlierReturns* earlier) {
  return {{"metric", one.metric},
          {"birth_si", finite(one.birth)},
          {"change_si", finite(one.change)},
          {"u_si", finite_or_null(one.u)},
          {"e_n", finite_or_null(one.e_n)},
          {"more_than_its_uncertainty", one.e_n ? Json(one.significant()) : Json(nullptr)},
          {"bench_taken_out_si", finite_or_null(one.bench)},
          {"bench_u_si", finite_or_null(one.bench_u)},
          {"common_taken_out", one.common},
          {"earlier_returns", band_json(earlier, one.metric)}};
}

}  // namespace

Json birth_json(const BirthCompared& birth) {
  const EarlierReturns* earlier = birth.earlier ? &*birth.earlier : nullptr;
  Json metrics = Json::array();
  for (const analysis::Difference& one : birth.against.differences)
    metrics.push_back(difference_json(one, earlier));
  Json returns = nullptr;
  if (earlier != nullptr)
    returns = {{"months_in_use", finite(earlier->months)},
               {"units", earlier->units},
               {"sentence", words_of(*earlier)}};
  return {{"attempt", birth.attempt},
          {"birth_attempt", birth.against.birth_attempt},
          {"sentence", birth.against.sentence},
          {"earlier_returns", returns},
          {"metrics", metrics}};
}

}  // namespace endgate::daemon
