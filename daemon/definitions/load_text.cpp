#include "daemon/definitions/load_text.h"

namespace endgate::daemon {

std::optional<toml::table> parse_toml(std::string_view text, const std::string& file,
                                      Findings& findings) {
  try {
    return toml::parse(text, file);
  } catch (const toml::parse_error& error) {
    const toml::source_position at = error.source().begin;
    findings.add({static_cast<int>(at.line), static_cast<int>(at.column)}, "",
                 "valid TOML; " + std::string(error.description()));
  }
  return std::nullopt;
}

const char* name_of(DefinitionKind kind) {
  switch (kind) {
    case DefinitionKind::service:
      return "service";
    case DefinitionKind::bench:
      return "bench";
    case DefinitionKind::model:
      return "model";
    case DefinitionKind::calibration:
      return "calibration";
    case DefinitionKind::corrections:
      return "corrections";
    case DefinitionKind::limits:
      return "limits";
    case DefinitionKind::causes:
      return "causes";
    case DefinitionKind::control:
      return "control";
    case DefinitionKind::trial:
      return "trial";
  }
  return "unknown";
}

std::optional<DefinitionKind> kind_in(std::string_view text) {
  Findings ignored("");
  const std::optional<toml::table> table = parse_toml(text, "", ignored);
  if (!table) return std::nullopt;
  const std::optional<std::string> written = (*table)["kind"].value<std::string>();
  for (const DefinitionKind kind :
       {DefinitionKind::service, DefinitionKind::bench, DefinitionKind::model,
        DefinitionKind::calibration, DefinitionKind::corrections, DefinitionKind::limits,
        DefinitionKind::causes, DefinitionKind::control, DefinitionKind::trial})
    if (written == name_of(kind)) return kind;
  return std::nullopt;
}

void expect_kind(TomlReader& root, DefinitionKind kind) {
  const std::string expected = name_of(kind);
  const std::string written = root.text("kind");
  if (!written.empty() && written != expected)
    root.complain("kind", "\"" + expected + "\", found \"" + written + "\"");
}

}  // namespace endgate::daemon
