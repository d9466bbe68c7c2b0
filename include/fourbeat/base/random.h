// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cmath>
#include <cstdint>

namespace fourbeat {

/// SplitMix64 (Steele, Lea and Flood, OOPSLA 2014): a seeded generator whose numbers are the
/// same on every machine and standard library.
class Random {
 public:
  constexpr explicit Random(std::uint64_t seed) : state_(seed) {}
  constexpr std::uint64_t next() {
    state_ += 0x9E3779B97F4A7C15ULL;
    std::uint64_t z = state_;
    z = (z ^ (z >> 30U)) * 0xBF58476D1CE4E5B9ULL;
    z = (z ^ (z >> 27U)) * 0x94D049BB133111EBULL;
    return z ^ (z >> 31U);
  }
  /// Uniform in [0, 1).
  constexpr double uniform() { return static_cast<double>(next() >> 11U) * 0x1.0p-53; }
  /// Uniform in [low, high).
  constexpr double uniform(double low, double high) { return low + (high - low) * uniform(); }
  /// Uniform in 0 … count - 1; count at least 1.
  constexpr std::int64_t below(std::int64_t count) {
    return static_cast<std::int64_t>(uniform() * static_cast<double>(count));
  }
  /// Standard normal, by the polar method (Marsaglia and Bray 1964).
  double normal() {
    while (true) {
      const double u = uniform(-1.0, 1.0);
      const double v = uniform(-1.0, 1.0);
      const double s = u * u + v * v;
      if (s > 0.0 && s < 1.0) return u * std::sqrt(-2.0 * std::log(s) / s);
    }
  }

 private:
  std::uint64_t state_;
};

}  // namespace fourbeat
