// SPDX-License-Identifier: GPL-3.0-or-later
#include "heap_peak.h"

#include <malloc.h>

#include <atomic>
#include <cstdlib>
#include <new>

namespace {

std::atomic<std::size_t> held{0};
std::atomic<std::size_t> most{0};

}  // namespace

// Every `new` of the program is counted.
void* operator new(std::size_t size) {
  void* place = std::malloc(size > 0 ? size : 1);
  if (place == nullptr) throw std::bad_alloc();
  const std::size_t now = held.fetch_add(malloc_usable_size(place)) + malloc_usable_size(place);
  std::size_t peak = most.load();
  while (now > peak && !most.compare_exchange_weak(peak, now)) {
  }
  return place;
}

void operator delete(void* place) noexcept {
  if (place == nullptr) return;
  held.fetch_sub(malloc_usable_size(place));
  std::free(place);
}

void operator delete(void* place, std::size_t) noexcept {
  operator delete(place);
}

namespace fourbeat::tests {

HeapPeak::HeapPeak() : before_(held.load()) {
  most.store(before_);
}

std::size_t HeapPeak::bytes() const {
  return most.load() - before_;
}

}  // namespace fourbeat::tests
