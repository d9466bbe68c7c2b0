// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/pcm.h"
#include "fourbeat/base/job_control.h"
#include "fourbeat/base/result.h"

#include <cstdint>
#include <optional>
#include <span>
#include <vector>

namespace fourbeat::dsp {

/// What is known of the engine beforehand; every field may be left out.
struct BeatHints {
  std::optional<double> driver_diameter_mm;
  std::optional<int> beats_per_rev;
  std::optional<double> top_speed_kmh;
};

struct Beat {
  FrameIndex frame;  ///< beat time: where the 5 ms RMS envelope crosses midway in dB
  double time_s = 0.0;
  double strength = 0.0;            ///< 0 to 1, against the loudest of the stretch
  double confidence = 0.0;          ///< 0 to 1
  std::optional<int> position;      ///< place in the revolution, from 0, when known
  std::optional<double> speed_kmh;  ///< when the driver diameter is known
};

/// A run of beats without a break.
struct BeatStretch {
  FrameRange range;
  double median_interval_s = 0.0;
};

struct BeatTrack {
  std::vector<Beat> beats;  ///< ascending
  std::vector<BeatStretch> stretches;
};

/// Follows exhaust beats whose interval changes slowly. Says nothing where nothing beats.
/// samples: one channel at its own rate (8 kHz to 192 kHz); frames count from its first sample.
/// Errors: bad_argument (rate, hints out of range), not_finite, cancelled. Too short or silent
/// material gives an empty track. Cost: linear in length; any thread, never the audio callback.
[[nodiscard]] Result<BeatTrack> track_beats(audio::MonoView samples, double sample_rate_hz,
                                            const BeatHints& hints, JobControl& job);

}  // namespace fourbeat::dsp
