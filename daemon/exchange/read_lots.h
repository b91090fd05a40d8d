// Which lots of parts does a file name, of which units and batches?
//
//   serial,batch,part,lot
//   QH2648-0001-A,,motor,M-118
//   ,48-B2,reed,R-2620
//
// One row is one part of one unit or of one batch; a row names one of the two.  A number of its
// own, as in part motor_number, is a lot of one.  Rows of the same unit or batch become one entry,
// wherever they stand.  The same part with the same lot twice is a fault: the file may be two files
// put together.
//
// Source, person and instant are for the caller to fill in.

#pragma once

#include <string_view>
#include <vector>

#include "daemon/exchange/table.h"
#include "schema/facts.h"

namespace endgate::daemon {

struct LotsOfLines {
  schema::Lots lots{};
  std::int64_t line = 0;  // the first that names the unit or batch
};

struct LotsRead {
  std::vector<LotsOfLines> entries{};  // in the order of the file
  std::vector<TableFault> faults{};
};

[[nodiscard]] LotsRead read_lots(std::string_view text, TableForm form);

}  // namespace endgate::daemon
