// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <algorithm>
#include <vector>

namespace fourbeat::tests {

/// The longest of a benchmark's repetitions, for ComputeStatistics().
inline double worst_of(const std::vector<double>& times) {
  return *std::max_element(times.begin(), times.end());
}

}  // namespace fourbeat::tests
