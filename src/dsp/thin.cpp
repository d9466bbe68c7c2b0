// SPDX-License-Identifier: GPL-3.0-or-later
#include "thin.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <numbers>

namespace fourbeat::dsp {

namespace {

std::vector<float> low_pass_taps(double step_frames) {
  const auto half = static_cast<std::int64_t>(std::ceil(3.0 * step_frames));
  std::vector<double> taps;
  double sum = 0.0;
  for (std::int64_t i = -half; i <= half; ++i) {
    const double phase = std::numbers::pi * static_cast<double>(i) / step_frames;
    const double sinc = i == 0 ? 1.0 : std::sin(0.8 * phase) / (0.8 * phase);
    const double window = 0.5 + 0.5 * std::cos(std::numbers::pi * static_cast<double>(i) /
                                               static_cast<double>(half + 1));
    taps.push_back(sinc * window);
    sum += taps.back();
  }
  std::vector<float> out(taps.size());
  std::transform(taps.begin(), taps.end(), out.begin(),
                 [&](double tap) { return static_cast<float>(tap / sum); });
  return out;
}

/// Four sums at a time: none waits for another.
float dot(const float* a, const float* b, std::size_t count) {
  std::array<float, 4> sums{};
  std::size_t i = 0;
  for (; i + 4 <= count; i += 4) {
    for (std::size_t k = 0; k < 4; ++k)
      sums[k] += a[i + k] * b[i + k];
  }
  for (; i < count; ++i)
    sums[0] += a[i] * b[i];
  return (sums[0] + sums[1]) + (sums[2] + sums[3]);
}

}  // namespace

Result<std::vector<float>> thin(audio::MonoView samples, const Thinning& thinning,
                                const JobControl& job) {
  const std::vector<float> taps = low_pass_taps(static_cast<double>(thinning.step_numerator) /
                                                static_cast<double>(thinning.step_denominator));
  const auto width = static_cast<std::int64_t>(taps.size());
  const auto frames = static_cast<std::int64_t>(samples.size());
  std::vector<float> out(thinning.count);
  for (std::size_t i = 0; i < out.size(); ++i) {
    if (i % 4096 == 0 && job.cancelled()) return Error{ErrorCode::cancelled, "", "", "", ""};
    const std::int64_t from =
        thinning.first +
        static_cast<std::int64_t>(i) * thinning.step_numerator / thinning.step_denominator -
        width / 2;
    const std::int64_t low = std::clamp<std::int64_t>(-from, 0, width);
    const std::int64_t high = std::clamp<std::int64_t>(frames - from, low, width);
    if (low == high) continue;  // all outside: nothing
    out[i] =
        dot(taps.data() + low, samples.data() + (from + low), static_cast<std::size_t>(high - low));
  }
  return out;
}

}  // namespace fourbeat::dsp
