// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <atomic>
#include <cstddef>
#include <type_traits>
#include <vector>

namespace fourbeat::drive {

/// A bounded queue between one producing and one consuming thread. push() and pop() never wait,
/// lock or allocate; a push into a full queue is refused. A ring with two counters that only
/// grow, each written by one side (Lamport, "Specifying concurrent program modules", 1983).
template <class T>
class SpscQueue {
  static_assert(std::is_trivially_copyable_v<T>);

 public:
  /// Holds at least `capacity` elements; allocates here and nowhere else.
  explicit SpscQueue(std::size_t capacity) {
    std::size_t size = 2;
    while (size < capacity)
      size *= 2;
    ring_.resize(size);
    mask_ = size - 1;
  }
  SpscQueue(const SpscQueue&) = delete;
  SpscQueue& operator=(const SpscQueue&) = delete;
  ~SpscQueue() = default;

  /// Producer: false when full.
  bool push(const T& value) noexcept {
    const std::size_t tail = tail_.load(std::memory_order_relaxed);
    if (tail - head_.load(std::memory_order_acquire) > mask_) return false;
    ring_[tail & mask_] = value;
    tail_.store(tail + 1, std::memory_order_release);
    return true;
  }
  /// Consumer: the oldest element, or null; it stays until pop().
  [[nodiscard]] const T* front() const noexcept {
    const std::size_t head = head_.load(std::memory_order_relaxed);
    return head == tail_.load(std::memory_order_acquire) ? nullptr : &ring_[head & mask_];
  }
  /// Consumer: drops the oldest element; front() must not be null.
  void pop() noexcept {
    head_.store(head_.load(std::memory_order_relaxed) + 1, std::memory_order_release);
  }
  /// Consumer: takes the oldest element; false when empty.
  bool pop(T& value) noexcept {
    const T* oldest = front();
    if (oldest == nullptr) return false;
    value = *oldest;
    pop();
    return true;
  }
  [[nodiscard]] std::size_t capacity() const noexcept { return mask_ + 1; }

 private:
  static constexpr std::size_t cache_line_bytes = 64;  // keeps the two sides' counters apart
  std::vector<T> ring_;
  std::size_t mask_ = 0;
  alignas(cache_line_bytes) std::atomic<std::size_t> head_{0};
  alignas(cache_line_bytes) std::atomic<std::size_t> tail_{0};
};

}  // namespace fourbeat::drive
