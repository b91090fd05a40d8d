#include "daemon/views/decimate.h"

#include <algorithm>

namespace endgate::daemon {

std::vector<DecimatedPiece> decimate(std::span<const std::optional<double>> values,
                                     std::size_t pieces) {
  std::vector<DecimatedPiece> out;
  const std::size_t count = std::min(pieces, values.size());
  for (std::size_t i = 0; i < count; ++i) {
    DecimatedPiece piece{.first = i * values.size() / count};
    const std::size_t end = (i + 1) * values.size() / count;
    for (std::size_t k = piece.first; k < end; ++k) {
      if (!values[k]) continue;
      piece.lowest = std::min(piece.lowest.value_or(*values[k]), *values[k]);
      piece.highest = std::max(piece.highest.value_or(*values[k]), *values[k]);
    }
    out.push_back(piece);
  }
  return out;
}

}  // namespace endgate::daemon
