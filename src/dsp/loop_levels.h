// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/job_control.h"
#include "fourbeat/base/result.h"

#include <cstddef>
#include <cstdint>
#include <optional>
#include <vector>

namespace fourbeat::dsp {

/// Levels in dB of broad bands of every channel, a value every step.
struct Levels {
  std::int64_t step_frames = 0;
  std::int64_t steps = 0;
  std::vector<std::vector<float>> columns;
  std::vector<std::vector<double>> sums;  ///< sums[c][i]: of the first i values
  std::vector<float> rise_db;             ///< steepest rise of the mean level about each step
  std::vector<float> event_db;            ///< by how much any column stands over its median

  [[nodiscard]] double mean(std::size_t column, std::int64_t from, std::int64_t to) const {
    return (sums[column][static_cast<std::size_t>(to)] -
            sums[column][static_cast<std::size_t>(from)]) /
           static_cast<double>(to - from);
  }
};

/// A moment that stands out from the rest of the material and does not come again.
struct OneOff {
  std::int64_t step = 0;
  double over_db = 0.0;  ///< over what is typical in its band
};
/// The most conspicuous moment by 10 dB or more, unless another, half a second or more away, comes
/// within 4 dB of it.
[[nodiscard]] std::optional<OneOff> one_off_event(const Levels& levels);

/// Channels: equally long, not empty, mean removed, finite. No columns for rates too low for a
/// band. Errors: cancelled.
[[nodiscard]] Result<Levels> levels_of(const std::vector<std::vector<float>>& channels,
                                       double sample_rate_hz, JobControl& job);

}  // namespace fourbeat::dsp
