// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "beat_search.h"

#include "fourbeat/dsp/beat_tracker.h"

namespace fourbeat::dsp {

/// Sets down the beats that were found: their exact times, strength, confidence, place and speed.
/// Errors: cancelled.
[[nodiscard]] Result<BeatTrack> make_track(const BeatSearch& search, audio::MonoView samples,
                                           double sample_rate_hz, const BeatHints& hints,
                                           JobControl& job);

}  // namespace fourbeat::dsp
