#include "daemon/service/json_studies.h"

#include "daemon/queries/gauge_words.h"
#include "daemon/service/json_value.h"

namespace endgate::daemon {
namespace {

Json pair_json(const statistics::Interval& interval) {
  return Json::array({finite(interval.low), finite(interval.high)});
}

Json part_json(const statistics::StudyPart& part) {
  return {{"sigma_si", finite(part.sigma)},
          {"sigma_interval_95_si", pair_json(part.sigma_95)},
          {"share_of_variance", finite(part.share)},
          {"share_interval_95", pair_json(part.share_95)}};
}

Json study_json(const GaugeTold& told) {
  if (!told.study) return nullptr;
  const statistics::GaugeStudy& study = *told.study;
  return {{"repeats", study.repeats},
          {"repeat", part_json(study.repeat)},
          {"place", part_json(study.bench)},
          {"unit_by_place", study.pooled ? Json(nullptr) : part_json(study.interaction)},
          {"measurement", part_json(study.measurement)},
          {"unit", part_json(study.unit)},
          {"total", part_json(study.total)},
          {"unit_by_place_p", finite(study.interaction_p)},
          {"kinds_of_unit", finite(study.categories)}};
}

Json bench_pair_json(const BenchPair& pair) {
  Json json{
      {"first", pair.first}, {"second", pair.second}, {"none_because", text_or_null(pair.none)}};
  if (!pair.difference) return json;
  const statistics::PairedDifference& d = *pair.difference;
  json["units"] = d.n;
  json["mean_difference_si"] = finite(d.mean);
  json["interval_95_si"] = pair_json(d.mean_95);
  json["single_differences_95_si"] = pair_json(d.single_95);
  json["slope"] = finite(d.slope);
  json["slope_p"] = finite(d.slope_p);
  json["unlike_p"] = finite_or_null(d.unlike_p);
  return json;
}

}  // namespace

std::string gauge_json(const GaugeTold& told) {
  Json pairs = Json::array(), readings = Json::array();
  for (const BenchPair& pair : told.pairs) pairs.push_back(bench_pair_json(pair));
  for (const statistics::StudyReading& reading : told.readings)
    readings.push_back({{"unit", told.units[static_cast<std::size_t>(reading.unit)]},
                        {"place", told.places[static_cast<std::size_t>(reading.bench)]},
                        {"value_si", finite(reading.value)}});
  return written({{"model", told.model},
                  {"metric", told.metric->id},
                  {"si_unit", told.metric->si_unit},
                  {"by", told.asked.by == StudyAsked::By::bench ? "bench" : "person"},
                  {"units", told.units},
                  {"places", told.places},
                  {"limit_width_si", finite_or_null(told.limit_width)},
                  {"study", study_json(told)},
                  {"none_because", text_or_null(told.no_study)},
                  {"left_out", told.left_out},
                  {"not_found", told.found.not_found},
                  {"pairs", pairs},
                  {"sentences", words_of(told)},
                  {"readings", readings}});
}

std::string one_unit_json(const OneUnitTold& told) {
  Json study = nullptr;
  if (told.study)
    study = {{"tests", told.study->n},
             {"bias_si", finite(told.study->bias)},
             {"bias_interval_95_si", pair_json(told.study->bias_95)},
             {"sigma_si", finite(told.study->sigma)},
             {"sigma_interval_95_si", pair_json(told.study->sigma_95)},
             {"cg", finite_or_null(told.study->cg)},
             {"cgk", finite_or_null(told.study->cgk)},
             {"convention", "0.2 width / 6 sigma; (0.1 width - |bias|) / 3 sigma"}};
  return written({{"model", told.model},
                  {"metric", told.metric->id},
                  {"si_unit", told.metric->si_unit},
                  {"known_si", finite(told.asked.known.value)},
                  {"limit_width_si", finite_or_null(told.limit_width)},
                  {"benches", told.benches},
                  {"study", std::move(study)},
                  {"none_because", text_or_null(told.no_study)},
                  {"sentences", words_of(told)}});
}

std::string rating_json(const RatingTold& told) {
  Json points = Json::array();
  for (const RatingPoint& point : told.points)
    points.push_back({{"pressure_gauge_pa", finite(point.pressure_gauge_pa)},
                      {"units", point.told.values.size()},
                      {"batches", point.told.batches},
                      {"effective_n", finite(point.told.effective_n)},
                      {"mean_m3_s", finite(point.told.mean)},
                      {"sigma_m3_s", finite(point.told.sigma_overall)},
                      {"lower_m3_s", finite_or_null(point.lower_m3_s)},
                      {"lower_whole_curve_m3_s", finite_or_null(point.whole_m3_s)},
                      {"promise_m3_s", finite_or_null(point.promise_m3_s())},
                      {"below_limit", point.below_limit()},
                      {"by_order", point.by_order},
                      {"u_of_a_test_m3_s", finite_or_null(point.test_u)},
                      {"left_out", point.told.left_out.size()}});
  return written({{"model", told.model},
                  {"share", finite(told.coverage.share)},
                  {"confidence", finite(told.coverage.confidence)},
                  {"points", points},
                  {"sentences", words_of(told)}});
}

}  // namespace endgate::daemon
