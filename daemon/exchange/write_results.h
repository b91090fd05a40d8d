// How is a file of results written?  Row by row, so that memory stays bounded.
//
// CSV as RFC 4180 has it (daemon/queries/csv.h), or JSON Lines: one object a line, missing is null.
// In SI every number reads back as the same double; as shown it has ten significant digits, which
// hides the last bits of a change of unit and nothing measured.

#pragma once

#include <cstdint>
#include <ostream>
#include <string>

#include "daemon/exchange/result_row.h"
#include "daemon/exchange/table.h"

namespace endgate::daemon {

class ResultWriter {
 public:
  // Writes the heading of a CSV.
  ResultWriter(TableForm form, ResultUnits units, std::ostream& out);
  // False when the stream takes no more.
  bool write(const ResultRow& row);
  [[nodiscard]] std::int64_t rows() const { return rows_; }

 private:
  TableForm form_;
  int digits_;
  std::ostream& out_;
  std::vector<MetricColumn> metrics_;
  std::vector<std::string> names_;
  std::int64_t rows_ = 0;
};

}  // namespace endgate::daemon
