// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "loop_levels.h"

#include "fourbeat/base/frame.h"

#include <vector>

namespace fourbeat::dsp {

/// A loop's slow drift, to be taken out (LoopSpec): end over start, to 0.01 dB.
struct LoopDrift {
  double level_db = 0.0;
  std::vector<double> octaves_db;  ///< beside level_db; empty where the tone stays
};

/// The drift of a loop by straight lines through its sixteenths: of the tone, where the upper half
/// of the octaves that sound drifts against the lower half, then octave by octave; else of the
/// level over all channels. Nothing unless it is worth taking out (0.5 dB or more), slow (up to 12
/// dB, and 3 dB a second), really a drift (four times its own standard error or more, so that
/// neither strokes nor a wandering level pass for one) and nearer to a line than to a step.
/// Channels: equally long, mean removed, finite; the range lies inside them. levels: theirs.
[[nodiscard]] LoopDrift loop_drift(const std::vector<std::vector<float>>& channels,
                                   const Levels& levels, const FrameRange& range,
                                   double sample_rate_hz);

}  // namespace fourbeat::dsp
