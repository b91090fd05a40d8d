#include <algorithm>

#include "daemon/definitions/load_text.h"

namespace endgate::daemon {
namespace {

using analysis::CauseTable;

// Its own variance last, before it the covariances with the readings above.
void read_reading(TomlReader& reader, CauseTable& table) {
  analysis::CauseReading reading;
  reading.id = reader.text("id");
  reading.healthy = reader.number("healthy");
  reading.logarithmic = reader.flag_or("logarithmic", false);
  const std::vector<double> row = reader.numbers("covariance", kAnyNumber);
  if (reading.healthy == 0) reader.complain("healthy", "a number other than 0");
  if (row.size() != table.readings.size() + 1)
    reader.complain("covariance", std::to_string(table.readings.size() + 1) +
                                      " numbers: with each reading above and its own");
  else if (!(row.back() > 0))
    reader.complain("covariance", "a last number above 0");
  table.readings.push_back(std::move(reading));
  table.covariance.insert(table.covariance.end(), row.begin(), row.end());
}

void read_level(TomlReader& reader, const CauseTable& table, analysis::Cause& cause) {
  analysis::CauseLevel level;
  level.severity = reader.number("severity", kAboveZero);
  level.sign = reader.text_or("sign", "");
  level.shift = reader.numbers("shift", kAnyNumber);
  if (level.shift.size() != table.readings.size())
    reader.complain("shift", std::to_string(table.readings.size()) + " numbers, one per reading");
  if (!cause.levels.empty() && !(level.severity > cause.levels.back().severity))
    reader.complain("severity", "a number above that of the level before");
  cause.levels.push_back(std::move(level));
}

void read_cause(TomlReader& reader, CauseTable& table) {
  analysis::Cause cause;
  cause.id = reader.text("id");
  cause.name = reader.text("name");
  cause.check = reader.text_or("check", "");
  cause.prior = reader.number("prior", kAboveZero);
  cause.of_bench = reader.flag_or("of_bench", false);
  reader.each("level", [&](TomlReader& level) { read_level(level, table, cause); });
  if (cause.levels.empty()) reader.complain("level", "at least one severity");
  if (std::ranges::find(table.causes, cause.id, &analysis::Cause::id) != table.causes.end())
    reader.complain("id", "an id that no cause above has");
  table.causes.push_back(std::move(cause));
}

void read_causes(TomlReader& root, CauseFacts& facts) {
  facts.model = root.text("model");
  root.each("reading", [&](TomlReader& reading) { read_reading(reading, facts.table); });
  root.each("cause", [&](TomlReader& cause) { read_cause(cause, facts.table); });
  if (facts.table.readings.empty()) root.complain("reading", "at least one reading");
  if (facts.table.causes.empty()) root.complain("cause", "at least one cause");
}

}  // namespace

Loaded<CauseFacts> load_causes(std::string_view text, const std::string& file) {
  return load_text<CauseFacts>(text, file, DefinitionKind::causes, read_causes);
}

}  // namespace endgate::daemon
