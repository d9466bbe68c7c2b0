// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "beat_search.h"

#include "fourbeat/dsp/beat_tracker.h"
#include "fourbeat/dsp/sample_source.h"

namespace fourbeat::dsp {

/// Sets down the beats that were found: their exact times, strength, confidence, place and speed.
/// Errors: cancelled, those of reading.
[[nodiscard]] Result<BeatTrack> make_track(const BeatSearch& search, SampleSource& samples,
                                           double sample_rate_hz, const BeatHints& hints,
                                           JobControl& job);

}  // namespace fourbeat::dsp
