// SPDX-License-Identifier: GPL-3.0-or-later
#include "onset_noise.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace fourbeat::dsp {

namespace {

/// Of long material some ten thousand values, evenly spread, are as good as all.
constexpr std::size_t enough = 12000;

/// Standard deviation of normal values from their magnitudes, by the lower quartile, which lies at
/// 0.3186 of it.
double deviation_of(std::vector<float>& magnitudes) {
  if (magnitudes.empty()) return 0.0;
  const auto quartile = magnitudes.begin() + static_cast<std::ptrdiff_t>(magnitudes.size() / 4);
  std::nth_element(magnitudes.begin(), quartile, magnitudes.end());
  return *quartile / 0.3186;
}

/// Variance of a mean over `span` hops about the middle of the means over its two neighbours.
double variance_about_neighbours(std::span<const double> sums, std::size_t span) {
  const std::size_t step = std::max<std::size_t>(1, sums.size() / enough);
  std::vector<float> distances;
  for (std::size_t i = span; i + 2 * span < sums.size(); i += step) {
    const double before = sums[i] - sums[i - span];
    const double here = sums[i + span] - sums[i];
    const double after = sums[i + 2 * span] - sums[i + span];
    distances.push_back(
        static_cast<float>(std::fabs(here - 0.5 * (before + after)) / static_cast<double>(span)));
  }
  const double deviation = deviation_of(distances);
  return deviation * deviation;
}

}  // namespace

std::vector<double> running_sums(std::span<const float> level) {
  std::vector<double> sums(level.size() + 1, 0.0);
  for (std::size_t i = 0; i < level.size(); ++i)
    sums[i + 1] = sums[i] + static_cast<double>(level[i]);
  return sums;
}

double noise_of(std::span<const float> level) {
  const std::size_t step = std::max<std::size_t>(1, level.size() / enough);
  std::vector<float> distances;
  distances.reserve(level.size() / step + 1);
  for (std::size_t i = 4; i < level.size(); i += step)
    distances.push_back(std::fabs(level[i - 2] - 0.5F * (level[i - 4] + level[i])));
  // The distance's variance is 1.5 times the noise's.
  return deviation_of(distances) / std::sqrt(1.5);
}

double LevelNoise::of_step_db(int span) const {
  // Windows of Hann that overlap by half hardly depend on one another.
  return std::sqrt(2.0 * single_db * single_db / span + walk_db2 * span);
}

LevelNoise level_noise(std::span<const double> sums, double single_db) {
  // A step's variance is 4/3 of the distance's for values that do not depend on one another. Half
  // of what is beyond that counts as the walk's: beats that change their pace leave some of theirs
  // at every span.
  constexpr double step_of_distance = 4.0 / 3.0;
  constexpr double share_of_walk = 0.5;
  LevelNoise noise;
  noise.single_db = single_db;
  noise.walk_db2 = std::numeric_limits<double>::infinity();
  for (const std::size_t span : {4U, 8U, 16U, 32U}) {
    const auto n = static_cast<double>(span);
    const double step = step_of_distance * variance_about_neighbours(sums, span);
    const double walk = share_of_walk * (step - 2.0 * single_db * single_db / n) / n;
    noise.walk_db2 = std::clamp(walk, 0.0, noise.walk_db2);
  }
  return noise;
}

}  // namespace fourbeat::dsp
