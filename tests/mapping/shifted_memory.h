// Where do the allocations of this program lie?  While one lives, so many bytes behind a multiple
// of 64.

#pragma once

#include <cstddef>

namespace endgate::test {

class ShiftedMemory {
 public:
  explicit ShiftedMemory(std::size_t bytes);  // a multiple of 16 below 64
  ~ShiftedMemory();
  ShiftedMemory(const ShiftedMemory&) = delete;
  ShiftedMemory& operator=(const ShiftedMemory&) = delete;
};

}  // namespace endgate::test
