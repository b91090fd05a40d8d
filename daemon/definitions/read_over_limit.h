// Beyond which value is the motor switched off, and whom does that accuse?  Shared by bench and
// model files.

#pragma once

#include <string>
#include <vector>

#include "daemon/definitions/bench_definition.h"
#include "daemon/definitions/toml_reader.h"

namespace endgate::daemon {

// Every [[over_limit]] of the file; ids are unique.  `steps` are those of its sequence, of which a
// limit may name the ones it counts in; a file without a sequence has none.
[[nodiscard]] std::vector<OverLimit> read_over_limits(TomlReader& root,
                                                      const std::vector<std::string>& steps = {});

// The role under `key`, which must be known.
[[nodiscard]] analysis::Role read_role(TomlReader& reader, std::string_view key);
// The unit under `key` must be the SI unit of `role`: a number whose unit is not stated, or stated
// as bar, is refused rather than believed.
void expect_unit(TomlReader& reader, std::string_view key, analysis::Role role);

}  // namespace endgate::daemon
