#include "daemon/exchange/judgement_lines.h"

#include <algorithm>
#include <map>
#include <nlohmann/json.hpp>
#include <stdexcept>

namespace endgate::daemon {
namespace {

using JudgedJson = nlohmann::ordered_json;

const std::map<std::string, NotJudged> kWhyNot{{"samples_gone", NotJudged::samples_gone},
                                               {"never_judged", NotJudged::never_judged},
                                               {"no_such_limits", NotJudged::no_such_limits},
                                               {"unreadable", NotJudged::unreadable}};

JudgedJson json_of(const std::optional<double>& number) {
  return number ? JudgedJson(*number) : JudgedJson();
}

JudgedJson json_of(const Judgement& judgement) {
  JudgedJson metrics = JudgedJson::object(), parts = JudgedJson::object();
  for (const schema::MetricValue& metric : judgement.metrics)
    metrics[metric.id] = {{"value", json_of(metric.value)}, {"u", json_of(metric.u)}};
  for (const auto& [name, digest] : judgement.parts) parts[name] = digest;
  return {{"verdict", judgement.verdict},
          {"reason", judgement.reason},
          {"metrics", metrics},
          {"parts", parts}};
}

std::optional<double> number_in(const JudgedJson& json) {
  return json.is_null() ? std::nullopt : std::optional(json.get<double>());
}

Judgement judgement_in(const JudgedJson& json) {
  Judgement judgement{.verdict = json.at("verdict"), .reason = json.at("reason")};
  for (const auto& [id, metric] : json.at("metrics").items())
    judgement.metrics.push_back(
        {.id = id, .value = number_in(metric.at("value")), .u = number_in(metric.at("u"))});
  for (const auto& [name, digest] : json.at("parts").items())
    judgement.parts.emplace_back(name, digest.get<std::string>());
  return judgement;
}

std::string word_of(NotJudged why) {
  return std::ranges::find(kWhyNot, why, [](const auto& each) { return each.second; })->first;
}

JudgedTest test_in(const JudgedJson& json) {
  JudgedTest test{.position = json.at("position"),
                  .serial = json.at("serial"),
                  .model = json.at("model"),
                  .bench = json.at("bench"),
                  .attempt = json.at("attempt"),
                  .kept = judgement_in(json.at("kept"))};
  if (json.contains("now")) {
    test.now = judgement_in(json.at("now"));
  } else {
    test.not_judged = kWhyNot.at(json.at("not_judged"));
    test.trouble = json.value("trouble", "");
  }
  return test;
}

// The library throws for whatever does not fit, a map for an unknown word; here that is one answer.
template <class Read>
auto read_or_nothing(std::string_view line, Read read)
    -> std::optional<decltype(read(JudgedJson()))> {
  try {
    return read(JudgedJson::parse(line));
  } catch (const nlohmann::json::exception&) {
    return std::nullopt;
  } catch (const std::out_of_range&) {
    return std::nullopt;
  }
}

}  // namespace

std::string line_of(const JudgedBy& by) {
  return JudgedJson{{"judged_by", by.program}, {"store", by.store}, {"limits", by.limits}}.dump();
}

std::string line_of(const JudgedTest& test) {
  JudgedJson json{{"position", test.position}, {"serial", test.serial},
                  {"attempt", test.attempt},   {"model", test.model},
                  {"bench", test.bench},       {"kept", json_of(test.kept)}};
  if (test.now)
    json["now"] = json_of(*test.now);
  else
    json["not_judged"] = word_of(test.not_judged);
  if (!test.trouble.empty()) json["trouble"] = test.trouble;
  return json.dump();
}

std::optional<JudgedBy> judged_by_in(std::string_view line) {
  return read_or_nothing(line, [](const JudgedJson& json) {
    return JudgedBy{json.at("judged_by"), json.at("store"), json.at("limits")};
  });
}

std::optional<JudgedTest> judged_test_in(std::string_view line) {
  return read_or_nothing(line, test_in);
}

}  // namespace endgate::daemon
