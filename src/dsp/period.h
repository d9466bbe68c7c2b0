// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/pcm.h"

#include <cstdint>
#include <optional>
#include <span>
#include <vector>

namespace fourbeat::dsp {

/// A sound has a period where its normalised autocorrelation peaks at least this high.
inline constexpr double least_period_correlation = 0.5;

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
