#include "analysis/grade_words.h"

#include <array>

#include "analysis/limit_subject.h"
#include "analysis/metric_facts.h"
#include "analysis/say_number.h"

namespace endgate::analysis {
namespace {

struct RoleWords {
  Role role;
  std::string_view name;
  SaidUnit unit;
};

constexpr std::array<RoleWords, kRoleCount> kRoleWords{{
    {Role::discharge_pressure, "discharge pressure", {"kPa gauge", 0.001, 0, 0}},
    {Role::barometric_pressure, "barometric pressure", {"kPa abs.", 0.001, 0, 1}},
    {Role::flow, "flow", {"L/min", 60000, 0, 1}},
    {Role::supply_voltage, "supply voltage", {"V", 1, 0, 1}},
    {Role::supply_current, "supply current", {"A", 1, 0, 1}},
    {Role::speed, "speed", {"r/min", 60, 0, 0}},
    {Role::head_temperature, "head temperature", {"\u00B0C", 1, -273.15, 0}},
    {Role::case_temperature, "case temperature", {"\u00B0C", 1, -273.15, 0}},
    {Role::ambient_temperature, "ambient temperature", {"\u00B0C", 1, -273.15, 0}},
    {Role::relative_humidity, "relative humidity", {"%", 100, 0, 0}},
    {Role::seal_pressure, "housing-seal pressure", {"kPa gauge", 0.001, 0, 1}},
}};

// Files write plain letters, people read the raised figure.
std::string_view unit_in_words(std::string_view unit) {
  return unit == "cm3/min" ? "cm\u00B3/min" : unit;
}

std::string in_plain_unit(const std::string& number, const SaidUnit& unit) {
  return number + kNoBreakSpace + std::string(unit.name.substr(0, unit.name.find(' ')));
}

}  // namespace

Words words_of_metric(std::string_view metric_id) {
  if (const MetricFacts* facts = facts_of_metric(metric_id))
    return {std::string(facts->sentence_name),
            {unit_in_words(facts->display_unit), facts->factor, facts->offset, facts->decimals}};
  if (const auto relation = relation_in(metric_id)) {
    Words words = words_of_metric(relation->metric);
    words.name += " against " + words_of_metric(relation->against).name;
    words.unit.offset = 0;  // of a distance
    return words;
  }
  if (metric_id == kCurveSubject) return {"delivery curve", words_of_metric("fad_0").unit};
  if (const auto gauge_pa = gauge_pa_at(metric_id))
    return {"flow at " + say_number(*gauge_pa / 1000, 0) + kNoBreakSpace + "kPa",
            words_of_metric("fad_0").unit};
  return {std::string(metric_id), {"SI", 1, 0, 3}};
}

Words words_of_role(Role role) {
  const RoleWords& words = kRoleWords[static_cast<std::size_t>(role)];
  return {std::string(words.name), words.unit};
}

Words words_of_channel(const BenchFacts& bench, std::string_view channel_id) {
  for (const ChannelFacts& channel : bench.channels)
    if (channel.id == channel_id) return words_of_role(channel.role);
  return {std::string(channel_id), {"SI", 1, 0, 3}};
}

std::string with_unit(const std::string& number, const SaidUnit& unit) {
  const std::size_t space = unit.name.find(' ');
  const std::string text = in_plain_unit(number, unit);
  if (space == std::string_view::npos) return text;
  return text + kNoBreakSpace + std::string(unit.name.substr(space + 1));
}

// Of two percentages the difference is no percentage of either.
std::string difference_with_unit(const std::string& number, const SaidUnit& unit) {
  if (unit.name == "%") return number + kNoBreakSpace + "percentage points";
  return in_plain_unit(number, unit);
}

}  // namespace endgate::analysis
