// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <cstdint>

namespace fourbeat::dsp {

/// The octaves of LoopSpec::octave_drift_db: below 500 Hz, to 1, 2, 4, 8 kHz, and above.
inline constexpr std::size_t most_octaves = 6;
inline constexpr double first_octave_edge_hz = 500.0;
/// No drift beyond it is taken out: what lies under the sound would be lifted as well.
inline constexpr double most_drift_db = 12.0;

/// How far take_out_octave_drift() looks to either side of a frame.
[[nodiscard]] std::int64_t octave_reach_frames(double sample_rate_hz);

}  // namespace fourbeat::dsp
