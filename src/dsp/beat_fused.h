// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/job_control.h"
#include "fourbeat/base/result.h"
#include "fourbeat/dsp/onset.h"
#include "fourbeat/dsp/sample_source.h"

#include <vector>

namespace fourbeat::dsp {

struct FusedBeat {
  double time_s = 0.0;
  double line = 0.0;  ///< power of the rate's line over the noise around it
};

/// A stretch in which beats follow one another too fast to be told apart one by one.
struct FusedStretch {
  std::vector<FusedBeat> beats;
};

/// Finds beats of 16 to 46 a second by the line they draw in the spectrum of the level (onset.h),
/// windows of 1.28 s: the strongest line of all, so that it is no overtone of slower beats. The
/// line is followed by a dynamic programme (Viterbi) over rate and time; its phase gives the
/// beats' times, and the sound folded by that phase gives the attack's place in it, as beat_time.h
/// defines it.
/// greatest_rate_hz: no faster ones are believed. Errors: cancelled, those of
/// reading. Linear in length.
[[nodiscard]] Result<std::vector<FusedStretch>> find_fused(const OnsetStrength& onsets,
                                                           SampleSource& samples,
                                                           double sample_rate_hz,
                                                           double greatest_rate_hz,
                                                           const JobControl& job);

}  // namespace fourbeat::dsp
