// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/dsp/fft.h"

#include <complex>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

namespace fourbeat::dsp {

/// A sound has a period where its normalised autocorrelation peaks at least this high.
inline constexpr double least_period_correlation = 0.5;

/// Sums of products and norms by lag, and what they say together.
struct LagSums {
  std::vector<double> sums;
  std::vector<double> norms;  ///< root of the product of the powers of the stretches that meet
  explicit LagSums(std::size_t lags) : sums(lags, 0.0), norms(lags, 0.0) {}
  /// Normalised, by lag; 0 where nothing sounds.
  [[nodiscard]] std::vector<double> normalised() const;
};

/// Linear autocorrelation of blocks of at most one size, summed: one FFT a block, and one back for
/// them all.
class BlockCorrelator {
 public:
  /// For lags 0 … lags - 1.
  BlockCorrelator(std::size_t most_samples, std::size_t lags);
  void add(std::span<const float> block);
  /// The sum over all blocks added.
  [[nodiscard]] LagSums sums();

 private:
  RealFft fft_;
  LagSums out_;
  std::vector<double> powers_;
  std::vector<float> padded_;
  std::vector<std::complex<float>> bins_;
};

/// Period of the waveform in frames, 2 frames to 50 ms, over all channels; nothing where the
/// normalised autocorrelation stays below 0.5. The shortest period whose peak comes within a tenth
/// of the highest. Channels: equally long, mean removed.
[[nodiscard]] std::optional<double> tone_period_frames(
    const std::vector<std::vector<float>>& channels, double sample_rate_hz);

/// Period of a level series in its own steps, 10 steps to `longest` and at most a third of the
/// series; nothing where it varies by less than 1 dB (standard deviation) or repeats too little.
[[nodiscard]] std::optional<double> rhythm_period_steps(std::span<const float> level_db,
                                                        std::int64_t longest);

/// True where an endless sequence runs through its seam in whole periods, within 5 % of one or
/// within what its own unevenness does elsewhere (the 95th percentile of the same measure inside).
/// turn: one turn, its first `seam_count` values being the seam's stretch. Sequences too short to
/// tell count as whole.
[[nodiscard]] bool runs_in_whole_periods(std::span<const float> turn, std::int64_t seam_count,
                                         double period);

}  // namespace fourbeat::dsp
