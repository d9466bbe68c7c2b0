// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "loop_levels.h"

#include "fourbeat/base/job_control.h"
#include "fourbeat/base/result.h"

#include <cstddef>
#include <cstdint>
#include <vector>

namespace fourbeat::dsp {

/// A place where a loop might start and one where it might end, to about 10 ms: its length may
/// miss the limits by as much.
struct Join {
  std::int64_t start_frame = 0;
  std::int64_t end_frame = 0;
  bool on_transient = false;  ///< a sound begins within 30 ms of the start
  double cost_db = 0.0;       ///< how unlike the surroundings of both are; smaller is better
};

/// What a search for joins may choose.
struct JoinLimits {
  double sample_rate_hz = 0.0;
  std::int64_t least_frames = 0;  ///< shortest loop
  std::int64_t most_frames = 0;   ///< longest loop, at most the material
  std::size_t count = 0;          ///< joins wanted
};

/// Joins over the whole span of allowed lengths, all lengths fairly: the first ones are the best
/// of every class of lengths, the longest class first. Lengths come from the normalised
/// autocorrelation of waveform and band levels (by FFT), starts from the likeness of the band
/// levels around start and end. A start never lies on a transient while there are others.
/// levels: levels_of() the channels. Channels: equally long, mean removed, finite. Errors:
/// cancelled.
[[nodiscard]] Result<std::vector<Join>> find_joins(const std::vector<std::vector<float>>& channels,
                                                   const Levels& levels, const JoinLimits& limits,
                                                   JobControl& job);

}  // namespace fourbeat::dsp
