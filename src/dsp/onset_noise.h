// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <span>
#include <vector>

namespace fourbeat::dsp {

/// Sums of all values before each, and at the end of all.
[[nodiscard]] std::vector<double> running_sums(std::span<const float> level);

/// Standard deviation of the noise of a level: from its distance to the middle of its neighbours
/// two hops off (windows that hardly overlap), which neither a steady fall nor, by the lower
/// quartile, the attacks enter.
[[nodiscard]] double noise_of(std::span<const float> level);

/// How a level that no beat moves strays: each value by itself, and all together as wind and
/// passing sounds carry them, a random walk.
struct LevelNoise {
  double single_db = 0.0;  ///< standard deviation of one value
  double walk_db2 = 0.0;   ///< variance that the walk adds to a step, for each hop of its span

  /// Standard deviation of the step between the means over `span` hops before and after a place.
  [[nodiscard]] double of_step_db(int span) const;
};

/// The walk by how means over 20 to 160 ms lie off the middle of their neighbours: its variance
/// there grows with the span, and is taken from the span that shows the least of it. For beats, and
/// nothing else, stand out at one span and not at another, by their rate. single_db: noise_of() the
/// level. sums: its running sums.
[[nodiscard]] LevelNoise level_noise(std::span<const double> sums, double single_db);

}  // namespace fourbeat::dsp
