#include "daemon/line/control_history.h"

#include <algorithm>

#include "daemon/definitions/load.h"

namespace endgate::daemon {

std::vector<FrozenText> frozen_texts(const schema::StoreReader& store) {
  std::vector<FrozenText> texts;
  for (schema::Definition& version : store.definitions()) {
    if (version.kind != name_of(DefinitionKind::control)) continue;
    auto loaded = load_control(version.text, "control " + version.subject);
    auto* facts = std::get_if<ControlFacts>(&loaded);
    texts.push_back({std::move(version), facts ? std::optional(std::move(*facts)) : std::nullopt});
  }
  return texts;
}

std::vector<ControlVersion> control_versions(const schema::StoreReader& store,
                                             const TrendFilter& filter, const std::string& metric) {
  std::vector<ControlVersion> versions;
  const std::string subject = control_subject(filter.model, metric, filter.bench);
  for (const FrozenText& text : frozen_texts(store))
    if (text.version.subject == subject && text.facts && text.facts->purpose == filter.purpose)
      versions.push_back({.version = text.version.version,
                          .at_utc_ms = text.version.at.utc_ms,
                          .by = text.version.by,
                          .why = text.version.why,
                          .limits = text.facts->limits,
                          .rules = text.facts->rules,
                          .run_length = text.facts->run_length,
                          .first_batch = text.facts->from.first_batch,
                          .last_batch = text.facts->from.last_batch,
                          .tests = text.facts->from.tests,
                          .first_position = text.facts->from.first_position,
                          .last_position = text.facts->from.last_position,
                          .behind_position = text.facts->behind_position});
  return versions;
}

}  // namespace endgate::daemon
