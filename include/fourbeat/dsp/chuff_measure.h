// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/pcm.h"

#include <array>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <vector>

namespace fourbeat::dsp {

inline constexpr std::size_t chuff_course_parts = 16;

/// One exhaust beat, measured from the lead before it up to the beat that follows.
struct ChuffMeasure {
  double peak_dbfs = 0.0;        ///< highest point of the 5 ms RMS envelope
  double background_dbfs = 0.0;  ///< its 10th percentile: what sounds between the beats
  double end_dbfs = 0.0;         ///< its quietest point before the next beat's attack
  FrameCount quiet_frames;       ///< from its quietest point within the lead to the beat
  FrameCount next_quiet_frames;  ///< likewise before the beat that follows
  std::int64_t flat_tops = 0;    ///< clipped tops, as audio::count_flat_tops() counts
  double energy_db = 0.0;        ///< K-weighted, as audio::k_weighted_energy_db()
  std::vector<float> bands_db;   ///< third_octave_energies_db() of it
  /// Its course: mean power in as many equal parts of it. The mean of many beats' courses tells how
  /// far the beats stand apart, where one alone holds too much chance.
  std::array<float, chuff_course_parts> course{};
};

/// samples: one channel from lead_frames before the beat to the end of the lead before the next
/// beat and its attack; beat_frame, next_frame: the two beats in it, 0 ≤ beat < next < size. The
/// lead is at most beat_frame long. Nothing for silence, samples that are not finite, a rate
/// outside 1 kHz … 768 kHz, or an interval under 10 ms.
[[nodiscard]] std::optional<ChuffMeasure> measure_chuff(audio::MonoView samples,
                                                        double sample_rate_hz,
                                                        FrameIndex beat_frame,
                                                        FrameIndex next_frame,
                                                        FrameCount lead_frames);

/// Centres of the third octaves below, base ten (IEC 61260-1): 100 Hz up to 10 kHz, or to the
/// last whose upper edge lies at or below 0.45 × rate.
[[nodiscard]] std::vector<double> third_octave_centres_hz(double sample_rate_hz);

/// Energy of a short event in each of those bands, in dB of full scale squared times seconds: by
/// one Fourier transform of the whole, its first and last 2 ms faded. Silence in a band: -200.
[[nodiscard]] std::vector<float> third_octave_energies_db(audio::MonoView samples,
                                                          double sample_rate_hz);

/// Slope of a spectrum over its bands from 125 Hz to 8 kHz: least squares of dB over octaves.
/// Bands of -200 are left out; 0 where fewer than three are left.
[[nodiscard]] double spectral_tilt_db_per_octave(const std::vector<float>& bands_db);

}  // namespace fourbeat::dsp
