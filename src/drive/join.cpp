// SPDX-License-Identifier: GPL-3.0-or-later
#include "join.h"

#include <algorithm>
#include <cmath>

namespace fourbeat::drive {

float sample_at(const ImageClip& clip, std::int64_t position) noexcept {
  if (position >= clip.frames()) {
    if (clip.loop_start == none) return 0.0F;
    const std::int64_t length = clip.frames() - clip.loop_start;
    position = clip.loop_start + (position - clip.loop_start) % length;
  }
  return clip.samples[static_cast<std::size_t>(position)];
}

float rho_of(const ImageClip& a, std::int64_t a_start, const ImageClip& b, std::int64_t b_start,
             int frames) noexcept {
  double product = 0.0;
  double a_energy = 0.0;
  double b_energy = 0.0;
  for (int i = 0; i < frames; ++i) {
    const double x = sample_at(a, a_start + i);
    const double y = sample_at(b, b_start + i);
    product += x * y;
    a_energy += x * x;
    b_energy += y * y;
  }
  const double scale = std::sqrt(a_energy * b_energy);
  if (!(scale > 0.0)) return 0.0F;
  return static_cast<float>(std::clamp(product / scale, 0.0, 1.0));
}

bool joins_smoothly(const ImageClip& before, float before_gain, const ImageClip& next,
                    float next_gain, int frames) noexcept {
  constexpr double tolerance = 1.5;
  // Position 0 is the first sample of `next`.
  const auto at = [&](std::int64_t position) {
    return position < 0
               ? static_cast<double>(before_gain) * sample_at(before, before.frames() + position)
               : static_cast<double>(next_gain) * sample_at(next, position);
  };
  const auto bend = [&](std::int64_t position) {  // centred on the sample before `position`
    return std::abs(at(position) - 2.0 * at(position - 1) + at(position - 2));
  };
  const std::int64_t back = std::min<std::int64_t>(frames, before.frames());
  const std::int64_t ahead =
      next.loop_start != none ? frames : std::min<std::int64_t>(frames, next.frames());
  if (back < 3 || ahead < 3) return false;
  double largest = 0.0;
  for (std::int64_t i = 2 - back; i < 0; ++i)
    largest = std::max(largest, bend(i));
  for (std::int64_t i = 2; i < ahead; ++i)
    largest = std::max(largest, bend(i));
  return std::max(bend(0), bend(1)) <= tolerance * largest;
}

}  // namespace fourbeat::drive
