#pragma once
#include <cstddef>
#include <new>
#include <vector>

namespace goodside::signal {

/// Allocator of 64-byte aligned storage: what the transforms were planned for, and one cache line.
template <class T>
struct AlignedAllocator {
  using value_type = T;
  static constexpr std::align_val_t alignment{64};

  AlignedAllocator() = default;
  template <class U>
  AlignedAllocator(const AlignedAllocator<U>& /*other*/) noexcept {}

  T* allocate(std::size_t count) {
    return static_cast<T*>(::operator new(count * sizeof(T), alignment));
  }
  void deallocate(T* storage, std::size_t /*count*/) noexcept {
    ::operator delete(storage, alignment);
  }
  friend bool operator==(const AlignedAllocator&, const AlignedAllocator&) { return true; }
};

template <class T>
using Aligned = std::vector<T, AlignedAllocator<T>>;

}  // namespace goodside::signal
