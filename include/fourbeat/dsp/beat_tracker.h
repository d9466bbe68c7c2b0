// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/pcm.h"
#include "fourbeat/base/job_control.h"
#include "fourbeat/base/result.h"
#include "fourbeat/dsp/sample_source.h"

#include <cstddef>
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
  double strength = 0.0;            ///< 0 to 1: level against the stretch's loudest, as amplitude
  double confidence = 0.0;          ///< 0 to 1; 0.1 and less: not heard, filled in
  std::optional<int> position;      ///< place in the revolution, from 0, when known
  std::optional<double> speed_kmh;  ///< over one revolution, when the driver diameter is known
  /// Its timbre: level from 1 to 8 kHz over that from 250 Hz to 1 kHz, in the 40 ms from the
  /// attack.
  std::optional<double> tilt_db;
};

/// A run of beats without a break.
struct BeatStretch {
  FrameRange range;
  double median_interval_s = 0.0;
  /// Beats so near one another that they fuse: the interval comes from the sound's periodicity, the
  /// beats' times from its phase; confidence at most 0.5, no positions.
  bool fused = false;
};

struct BeatTrack {
  std::vector<Beat> beats;  ///< ascending
  std::vector<BeatStretch> stretches;
  /// How surely they are heard, all together: evidence in nats, each beat's times the logarithm of
  /// its strength. For comparing channels of one take.
  double evidence = 0.0;
};

/// Follows exhaust beats whose interval changes slowly, 2.7 s to 42 ms. Says nothing where nothing
/// beats. A dynamic programme over the peaks of the onset strength (onset.h) and the beat rate, a
/// hidden semi-Markov model, then a cumulative-sum test of each run (Page, Biometrika 41,
/// 1954).
/// samples: one channel at its own rate (8 kHz to 192 kHz); frames count from its first sample.
/// hints: driver_diameter_mm 200 to 4000, beats_per_rev 1 to 24, top_speed_kmh 1 to 300. Diameter
/// and beats bound the beat rate (by the top speed, else by the fastest steam ever ran);
/// beats_per_rev gives positions where level, timing or timbre repeat by it (the loudest is 0, in
/// all stretches alike); the diameter gives speeds, with 4 beats a revolution where none are given.
/// Errors: bad_argument (rate, hints out of range), not_finite, cancelled, those of reading. Too
/// short or silent material gives an empty track. The samples are read three times from start to
/// end, the third time about the beats only, at most 4 s at once; the same samples give the same
/// track, bit by bit, however a source reads them. Cost: linear in length, memory as
/// onset_strength(); any thread, never the audio callback.
[[nodiscard]] Result<BeatTrack> track_beats(SampleSource& samples, double sample_rate_hz,
                                            const BeatHints& hints, JobControl& job);
/// The same for samples in memory.
[[nodiscard]] Result<BeatTrack> track_beats(audio::MonoView samples, double sample_rate_hz,
                                            const BeatHints& hints, JobControl& job);

/// Beats by the one of several channels that hears them best.
struct ChannelBeats {
  std::size_t channel = 0;  ///< from 0
  BeatTrack track;          ///< at this channel's own time
};

/// Tracks the beats of a take of several microphones by the channel in which they are surest
/// (BeatTrack::evidence); the first of equals. Where none
/// hears beats: channel 0, no beats. Sums of microphones are no help: the beat comes to each at its
/// own time.
/// channels: at least one, on one clock; else as track_beats. Cost: that of each channel.
[[nodiscard]] Result<ChannelBeats> track_best_channel(std::span<SampleSource* const> channels,
                                                      double sample_rate_hz, const BeatHints& hints,
                                                      JobControl& job);

}  // namespace fourbeat::dsp
