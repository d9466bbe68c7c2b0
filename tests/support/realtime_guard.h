// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

/// While one lives, what this thread does that an audio thread must not is counted: every
/// allocation and release of memory and, outside sanitizer builds, every lock of a mutex. A test
/// program that links realtime_guard.cpp has malloc, its kin and pthread_mutex_lock replaced.

namespace fourbeat::tests {

class RealtimeGuard {
 public:
  RealtimeGuard();
  ~RealtimeGuard();
  RealtimeGuard(const RealtimeGuard&) = delete;
  RealtimeGuard& operator=(const RealtimeGuard&) = delete;
  /// Calls counted on this thread since the guard began.
  [[nodiscard]] static long calls();
  /// True when mutexes are watched too.
  [[nodiscard]] static bool watches_everything();
};

}  // namespace fourbeat::tests
