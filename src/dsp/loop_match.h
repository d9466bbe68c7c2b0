// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstdint>
#include <vector>

namespace fourbeat::dsp {

/// Where the end of a loop may lie, and how far the surroundings reach that are compared.
struct MatchSpan {
  std::int64_t start_frame = 0;
  std::int64_t first_end_frame = 0;  ///< over start_frame
  std::int64_t last_end_frame = 0;   ///< at most the material's length
  std::int64_t reach_frames = 0;     ///< to either side, as far as the material goes
};

/// An end, and the normalised correlation of the waveforms around it and around the start.
struct MatchedEnd {
  std::int64_t end_frame = 0;
  double correlation = 0.0;  ///< -1 to 1, over all channels; 0 where there is nothing to compare
};

/// The end in the span around which the waveform is most like that around the start, over all
/// channels, by FFT; the end nearest to `rough_end_frame` where nothing can be compared.
[[nodiscard]] MatchedEnd match_end(const std::vector<std::vector<float>>& channels,
                                   const MatchSpan& span, std::int64_t rough_end_frame);

}  // namespace fourbeat::dsp
