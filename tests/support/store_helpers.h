// The few moves that every test of the store makes.

#pragma once

#include <gtest/gtest.h>

#include <functional>
#include <optional>
#include <string>

#include "schema/store.h"
#include "tests/support/made_facts.h"

namespace endgate::test {

// A start and its record; the position of the record.
inline schema::Position append_test(schema::StoreWriter& writer, const std::string& serial,
                                    std::int64_t attempt = 1,
                                    const std::optional<schema::Trace>& trace = std::nullopt) {
  const schema::TestStart start = made_start(serial, attempt);
  const schema::Position position = writer.append(start);
  return writer.append(made_record(position, start), trace);
}

// The kind of the StoreFault that `work` throws; nothing when it throws none.
inline std::optional<schema::StoreFault::Kind> fault_of(const std::function<void()>& work) {
  try {
    work();
  } catch (const schema::StoreFault& fault) {
    return fault.kind();
  }
  return std::nullopt;
}

}  // namespace endgate::test
