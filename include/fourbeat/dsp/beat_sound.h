// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/job_control.h"
#include "fourbeat/base/result.h"
#include "fourbeat/dsp/beat_tracker.h"
#include "fourbeat/dsp/sample_source.h"

#include <optional>
#include <vector>

namespace fourbeat::dsp {

/// How one beat sounds against what is around it.
struct BeatSound {
  /// The loudest 10 ms of the beat (RMS) over the quietest tenth of the 3 s either side.
  double over_background_db = 0.0;
  /// How long it stays above midway, in dB, between that background and its loudest, over the
  /// time to the next beat: 0 to 1. A late cut-off gives long beats.
  double length_share = 0.0;
};

/// Measures every beat of a track, one entry a beat; nothing for a beat whose surroundings are
/// silent. samples: what was tracked, `first` the frame of the track that they begin at; read once,
/// where there are beats. Errors: cancelled, those of reading. Cost: linear in the samples, memory
/// 8 bytes for every 2.5 ms.
[[nodiscard]] Result<std::vector<std::optional<BeatSound>>> measure_beat_sounds(
    SampleSource& samples, double sample_rate_hz, const BeatTrack& track, FrameIndex first,
    JobControl& job);

}  // namespace fourbeat::dsp
