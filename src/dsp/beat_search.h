// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "beat_fused.h"
#include "beat_path.h"
#include "beat_proof.h"

#include "fourbeat/dsp/beat_tracker.h"
#include "fourbeat/dsp/onset.h"
#include "fourbeat/dsp/sample_source.h"

#include <vector>

namespace fourbeat::dsp {

/// All that is known of the beats of one channel before they are set down.
struct BeatSearch {
  OnsetStrength onsets;
  std::vector<Candidate> candidates;
  std::vector<PathBeat> path;
  std::vector<ProvedStretch> proved;  ///< of the path, outside the fused stretches
  std::vector<FusedStretch> fused;
  /// How surely beats are heard: evidence in nats, each beat's times the logarithm of its strength.
  double evidence = 0.0;
};

/// Errors: as track_beats, but the hints are taken as checked.
[[nodiscard]] Result<BeatSearch> search_beats(SampleSource& samples, double sample_rate_hz,
                                              const BeatHints& hints, JobControl& job);

}  // namespace fourbeat::dsp
