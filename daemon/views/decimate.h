// A long column in few pieces, each with its lowest and highest value, so that no spike is lost.

#pragma once

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

namespace endgate::daemon {

struct DecimatedPiece {
  std::size_t first = 0;                      // index of its first sample
  std::optional<double> lowest{}, highest{};  // absent: no good sample in it
};

// `values` has nothing where a sample is not good.  At most `pieces` pieces, in order.
[[nodiscard]] std::vector<DecimatedPiece> decimate(std::span<const std::optional<double>> values,
                                                   std::size_t pieces);

}  // namespace endgate::daemon
