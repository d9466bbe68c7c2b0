// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#if defined(__SSE2__)
#include <immintrin.h>
#endif

namespace fourbeat::drive {

/// While it lives, this thread's denormals count as zero: they would cost a hundredfold time and
/// are never heard. Without SSE2 it does nothing.
class FlushDenormals {
 public:
#if defined(__SSE2__)
  FlushDenormals() noexcept : before_(_mm_getcsr()) {
    constexpr unsigned flush_to_zero_and_denormals_are_zero = 0x8040U;
    _mm_setcsr(before_ | flush_to_zero_and_denormals_are_zero);
  }
  ~FlushDenormals() {
    _mm_setcsr(before_);
  }
#else
  FlushDenormals() noexcept = default;
  ~FlushDenormals() = default;
#endif
  FlushDenormals(const FlushDenormals&) = delete;
  FlushDenormals& operator=(const FlushDenormals&) = delete;

 private:
#if defined(__SSE2__)
  unsigned before_;
#endif
};

}  // namespace fourbeat::drive
