// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/pcm.h"
#include "fourbeat/base/job_control.h"
#include "fourbeat/base/result.h"
#include "fourbeat/dsp/crossfade.h"

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace fourbeat::dsp {

enum class SeamState { clean, doubtful, unclean };

/// One measure at the seam's worst point, of its worst channel.
/// name: sample_step, slope_step (in full scale); spectrum_fine, spectrum_low, rms_50ms,
/// rms_500ms, colour_500ms, rhythm (in dB).
struct SeamMeasure {
  std::string name;
  double value = 0.0;
  double quotient = 0.0;  ///< value over the measure's own 95th percentile inside the loop
};

/// How audible a loop's seam is, after the design's definition (docs/seams.md).
struct SeamReport {
  double rank = 100.0;  ///< percentile of the seam's worst point among interior stretches, 0 to 100
  SeamState state = SeamState::unclean;
  std::vector<SeamMeasure> measures;
  /// Measures whose window is longer than a quarter of the loop, or leaves too little inside to
  /// compare with.
  std::vector<std::string> omitted;
  /// When the normalised autocorrelation of waveform or level peaks at or above 0.5: of the level
  /// (a rhythm) where there is one, else of the waveform (a tone).
  std::optional<double> period_s;
  bool whole_periods = true;  ///< false: a periodic sound whose loop does not span whole periods
  double tell_db = 0.0;       ///< most conspicuous event inside the loop over its typical moment
  /// By how much the loop's last quarter is louder, and brighter (its upper octaves against its
  /// lower ones), than its first, or what follows a step in either quarter than what precedes it;
  /// and where the tone is steady so, one octave against the others. 0 unless it can be heard and
  /// told from chance. A loop with any is never clean: it jumps back at every turn.
  double level_drift_db = 0.0;
  double tone_drift_db = 0.0;
  double octave_drift_db = 0.0;  ///< of the octave that drifts most against the others
  double octave_hz = 0.0;        ///< the middle of that octave; 0 where none drifts

  [[nodiscard]] bool steady() const {
    return level_drift_db == 0.0 && tone_drift_db == 0.0 && octave_drift_db == 0.0;
  }
};

/// Measures the seam of a loop that is already blended (`range` inside `pcm`), playing on and on.
/// crossfade_frames, at_start: where the blend lies, and how long (over a quarter of the loop is
/// never clean). seed: draws the interior points. Rates from 2 kHz to 768 kHz. Where too little of
/// the loop is left to compare with, nothing is measured: rank 100, unclean, all omitted.
/// Cost: about n log n in the loop's frames, and n² / 4e5 for the rhythm; any thread.
/// Errors: bad_argument, too_short (loop under 20 ms), not_finite, cancelled.
[[nodiscard]] Result<SeamReport> measure_seam(const audio::Pcm& rendered, const LoopSpec& loop,
                                              std::uint64_t seed, JobControl& job);

}  // namespace fourbeat::dsp
