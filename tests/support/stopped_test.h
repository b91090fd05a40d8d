// A test that a person stopped, kept as its record alone.

#pragma once

#include <cstdint>
#include <optional>
#include <string>

#include "schema/store.h"
#include "tests/support/made_facts.h"

namespace endgate::test {

inline void keep_stopped(schema::StoreWriter& writer, const std::string& serial,
                         std::int64_t started_utc_ms) {
  schema::Record record;
  record.start = made_start(serial, 1);
  record.start.at.utc_ms = started_utc_ms;
  record.start_position = writer.append(record.start);
  record.verdict = "void";
  record.standing = "hold";
  record.break_off = "stopped_by_person";
  record.reasons = {{"broken_off_stopped_by_person", "", "Stopped by a person."}};
  writer.append(record, std::nullopt);
}

}  // namespace endgate::test
