// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/dsp/beat_tracker.h"

#include <cstddef>
#include <span>
#include <vector>

namespace fourbeat::dsp {

/// What tells the beats of a revolution apart, one entry a beat.
struct BeatTraits {
  double time_s = 0.0;
  double level_db = 0.0;
  double tilt_db = 0.0;  ///< as Beat
};

/// The revolution's own pattern: level, timing and timbre of each place, in standard deviations.
struct RevolutionPattern {
  std::vector<double> level;
  std::vector<double> timing;
  std::vector<double> tilt;
};

/// Of the beats whose timbre was heard, for those where it was not; 0 where none was.
[[nodiscard]] double mean_tilt_db(std::span<const Beat> beats);

/// Place of each beat of a stretch in the revolution (0 to beats_per_rev − 1, counting on from
/// beat to beat), or nothing where no pattern repeats beyond chance (analysis of variance of
/// level, timing and timbre over the places). `pattern` empty: place 0 is the loudest, and the
/// pattern is set; else the places are turned so as to match it best.
[[nodiscard]] std::vector<int> revolution_places(std::span<const BeatTraits> beats,
                                                 int beats_per_rev, RevolutionPattern& pattern);

}  // namespace fourbeat::dsp
