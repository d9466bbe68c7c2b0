// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/dsp/seam.h"

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace fourbeat::dsp {

struct LoopParams {
  double min_s = 0.5;  ///< shortest loop; over 0.02
  double max_s = 8.0;  ///< longest loop
  int count = 5;       ///< candidates wanted, 1 to 50
  std::uint64_t seed = 1;
  double origin_s = 0.0;  ///< where the material begins, for the times in a reason
};

struct LoopCandidate {
  LoopSpec loop;  ///< frames of the material
  std::optional<double> period_s;
  SeamReport seam;     ///< of the loop as rendered
  double score = 0.0;  ///< 0 to 1: the seam's state before all; see find_loops()
};

struct LoopSearch {
  std::vector<LoopCandidate> candidates;  ///< best first, truly different from one another
  /// Why there is none, or none that is clean and steady (its level falls or rises by less than 3
  /// dB), and what would mend it; else empty.
  std::string reason;
};

/// Finds loops whose seam nobody hears. All channels are looped as one.
///
/// Lengths come from the normalised autocorrelation of waveform and band levels (Wiener-Khinchin,
/// by FFT), starts from how alike the band levels around both ends are, the end's frame from the
/// waveform around it; starts on a rise of level and loops with a conspicuous event are put last.
/// Each is rendered with the first of three crossfades (20, 80, 300 ms, at most a quarter of the
/// loop, as the material allows; 20 ms last where both sides share little) that makes it clean,
/// else the best of them, its end shifted by up to 20 ms where the sides of the crossfade would
/// cancel, and measured by measure_seam(). A loop without a clean seam is listed
/// too, with its rank.
/// A slow drift of level or tone over the loop is taken out as it is rendered (loop.drift_db,
/// loop.octave_drift_db; docs/seams.md, section 7). Score (docs/seams.md, section 8): clean 0.6 to
/// 1, doubtful 0.25 to 0.55, unclean under 0.2; more for measures that vouch for it, length, a low
/// tell, a low rank, a short crossfade; up to half is lost where the loop ends quieter or louder
/// than it starts. Loops whose ranges overlap by over 90 % count as one. material: 2 kHz to 768
/// kHz. Lengths between two frames are rounded up. Errors: bad_argument, not_finite, cancelled. No
/// loop is an answer, not an error: material shorter than min_s, or silent (a constant is). Cost: n
/// log n in the material's length, plus measure_seam() for 3 × count loops, at least 20 (40 in
/// material under 6 s).
[[nodiscard]] Result<LoopSearch> find_loops(const audio::Pcm& material, const LoopParams& params,
                                            JobControl& job);

}  // namespace fourbeat::dsp
