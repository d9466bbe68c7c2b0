// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "seam_measures.h"

namespace fourbeat::dsp {

/// What a loop has become by its last quarter against its first, in dB, of the channel that changed
/// most: it jumps back by as much at every turn, however smooth the seam.
struct SeamTrend {
  double level_db = 0.0;  ///< mean of the octaves that sound
  double tone_db = 0.0;   ///< upper half of them over the lower half: brighter where over 0
};

/// The trend outside the seam's stretch, by the octaves of `series`; of either 0 where it is under
/// 1 dB, or under four times its standard error, which chance alone reaches once in a hundred
/// loops.
[[nodiscard]] SeamTrend trend_of(const SeamSeries& series, const SeamGrid& grid);

}  // namespace fourbeat::dsp
