#include "tests/mapping/shifted_memory.h"

#include <cstdint>
#include <cstdlib>
#include <new>

namespace {

std::size_t shift = 0;

constexpr std::size_t kLine = 64;

}  // namespace

// Replaces the allocation of the whole test program, every form of it: under a sanitizer the other
// forms would not come through the first.  In front of each block stands where malloc's own begins.
void* operator new(std::size_t size, const std::nothrow_t&) noexcept {
  void* const base = std::malloc(size + 2 * kLine);
  if (!base) return nullptr;
  const auto from = reinterpret_cast<std::uintptr_t>(base) + sizeof base;
  const std::uintptr_t block = (from + kLine - 1) / kLine * kLine + shift;
  reinterpret_cast<void**>(block)[-1] = base;
  return reinterpret_cast<void*>(block);
}

void* operator new(std::size_t size) {
  void* const block = operator new(size, std::nothrow);
  if (!block) throw std::bad_alloc();
  return block;
}

void* operator new[](std::size_t size) { return operator new(size); }
void* operator new[](std::size_t size, const std::nothrow_t&) noexcept {
  return operator new(size, std::nothrow);
}

void operator delete(void* block) noexcept {
  if (block) std::free(reinterpret_cast<void**>(block)[-1]);
}
void operator delete(void* block, std::size_t) noexcept { operator delete(block); }
void operator delete[](void* block) noexcept { operator delete(block); }
void operator delete[](void* block, std::size_t) noexcept { operator delete(block); }

namespace endgate::test {

ShiftedMemory::ShiftedMemory(std::size_t bytes) { shift = bytes; }
ShiftedMemory::~ShiftedMemory() { shift = 0; }

}  // namespace endgate::test
