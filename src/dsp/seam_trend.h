// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "seam_measures.h"

namespace fourbeat::dsp {

/// What a loop has become by its last quarter against its first, in dB, of the channel that changed
/// most: it jumps back by as much at every turn, however smooth the seam.
struct SeamTrend {
  double level_db = 0.0;   ///< mean of the octaves that sound
  double tone_db = 0.0;    ///< upper half of them over the lower half: brighter where over 0
  double octave_db = 0.0;  ///< where tone_db is 0: one of them over the usual one
  double octave_hz = 0.0;  ///< the middle of that one
};

/// The trend outside the seam's stretch, by the octaves of `series`. Of level and tone also a step
/// at one moment of the first or last quarter. Each is 0 where it is under 1 dB or under so many of
/// its standard errors that chance alone reaches it about once in a hundred loops (docs/seams.md,
/// section 7).
[[nodiscard]] SeamTrend trend_of(const SeamSeries& series, const SeamGrid& grid);

}  // namespace fourbeat::dsp
