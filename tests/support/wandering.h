// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/random.h"

#include <array>
#include <cmath>
#include <functional>
#include <numbers>
#include <vector>

namespace fourbeat::tests {

/// A speed in m/s about `mean_m_s` whose acceleration wanders: four waves of 12 to 45 s.
inline std::function<double(double)> wandering_speed(double mean_m_s, std::uint64_t seed) {
  Random random(seed * 31 + 7);
  std::vector<std::array<double, 3>> waves;
  for (int i = 0; i < 4; ++i) {
    const double period_s = random.uniform(12.0, 45.0);
    waves.push_back({random.uniform(0.02, 0.08) * mean_m_s, 2.0 * std::numbers::pi / period_s,
                     random.uniform(0.0, 2.0 * std::numbers::pi)});
  }
  return [waves, mean_m_s](double t) {
    double v = mean_m_s;
    for (const auto& [size, rate, phase] : waves)
      v += size * std::sin(rate * t + phase);
    return v;
  };
}

}  // namespace fourbeat::tests
