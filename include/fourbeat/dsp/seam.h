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

/// One measure at the seam's worst point: its value there over its own 95th percentile inside.
struct SeamMeasure {
  std::string
      name;  ///< sample_step, slope_step, spectrum_fine, spectrum_low, rms_50ms, rms_500ms, rhythm
  double value = 0.0;
  double quotient = 0.0;
};

/// How audible a loop's seam is, after the design's definition (docs/seams.md).
struct SeamReport {
  double rank = 100.0;  ///< percentile of the seam's worst point among interior stretches, 0 to 100
  SeamState state = SeamState::unclean;
  std::vector<SeamMeasure> measures;
  std::vector<std::string> omitted;  ///< measures whose window is longer than a quarter of the loop
  std::optional<double> period_s;    ///< when the normalised autocorrelation peaks at or above 0.5
  bool whole_periods = true;  ///< false: a periodic sound whose loop does not span whole periods
  double tell_db = 0.0;       ///< most conspicuous event inside the loop over its typical moment
};

/// Measures the seam of a loop that is already blended (`range` inside `pcm`), playing on and on.
/// crossfade_frames, at_start: where the blend lies, and how long (over a quarter of the loop is
/// never clean). seed: draws the interior points.
/// Errors: bad_argument, too_short (loop under 20 ms), not_finite, cancelled.
[[nodiscard]] Result<SeamReport> measure_seam(const audio::Pcm& rendered, const LoopSpec& loop,
                                              std::uint64_t seed, JobControl& job);

}  // namespace fourbeat::dsp
