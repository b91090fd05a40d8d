// From one TOML text to one checked definition, or to all that is wrong with it.

#pragma once

#include <string>
#include <string_view>
#include <utility>

#include "daemon/definitions/load.h"
#include "daemon/definitions/toml_reader.h"

namespace endgate::daemon {

// Empty, with the parser's own finding, when the text is not TOML.
[[nodiscard]] std::optional<toml::table> parse_toml(std::string_view text, const std::string& file,
                                                    Findings& findings);

// `kind = "bench"` must be there and say what the loader reads.
void expect_kind(TomlReader& root, DefinitionKind kind);

template <class T, class ReadRoot>
Loaded<T> load_text(std::string_view text, const std::string& file, DefinitionKind kind,
                    ReadRoot read_root) {
  Findings findings(file);
  T definition;
  if (const std::optional<toml::table> table = parse_toml(text, file, findings)) {
    TomlReader root(*table, "", findings);
    expect_kind(root, kind);
    read_root(root, definition);
    root.complain_of_unknown_keys();
  }
  if (findings.any()) return std::move(findings).in_file_order();
  return definition;
}

}  // namespace endgate::daemon
