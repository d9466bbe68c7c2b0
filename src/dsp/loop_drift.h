// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/frame.h"

#include <vector>

namespace fourbeat::dsp {

/// Slow drift of level over a loop: its end over its start in dB, to 0.01 dB, by a straight line
/// through the levels of the loop's eighths, over all channels. 0 unless it is worth taking out
/// (0.5 dB or more), slow (up to 6 dB, and 2 dB a second) and really a drift: four times its own
/// standard error or more, so that neither strokes nor a wandering level pass for one.
/// Channels: equally long, mean removed, finite; the range lies inside them.
[[nodiscard]] double loop_drift_db(const std::vector<std::vector<float>>& channels,
                                   const FrameRange& range, double sample_rate_hz);

}  // namespace fourbeat::dsp
