// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cstddef>
#include <span>
#include <vector>

namespace fourbeat::dsp {

/// What tells the beats of a revolution apart, one entry a beat.
struct BeatTraits {
  double time_s = 0.0;
  double level_db = 0.0;
};

/// The revolution's own pattern: level and timing of each place, in standard deviations.
struct RevolutionPattern {
  std::vector<double> level;
  std::vector<double> timing;
};

/// Place of each beat of a stretch in the revolution (0 to beats_per_rev − 1, counting on from
/// beat to beat), or nothing where no pattern repeats beyond chance (analysis of variance of
/// level and timing over the places). `pattern` empty: place 0 is the loudest, and the pattern
/// is set; else the places are turned so as to match it best.
[[nodiscard]] std::vector<int> revolution_places(std::span<const BeatTraits> beats,
                                                 int beats_per_rev, RevolutionPattern& pattern);

}  // namespace fourbeat::dsp
