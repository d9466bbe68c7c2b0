// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/result.h"

#include <span>

namespace fourbeat::dsp {

/// A loudspeaker in its enclosure as three second-order filters in series: high-pass, peaking
/// equaliser, low-pass, each by frequency and Q as in the Audio EQ Cookbook (R. Bristow-Johnson;
/// W3C Group Note, 2021).
struct SpeakerResponse {
  double high_pass_hz = 400.0;  ///< below 0.45 × rate
  double high_pass_q = 0.7;
  double peak_hz = 2000.0;
  double peak_db = 0.0;  ///< gain at peak_hz
  double peak_q = 1.0;   ///< of the peak at the mid-point of its gain in dB
  double low_pass_hz = 12000.0;
  double low_pass_q = 0.7;
  bool operator==(const SpeakerResponse&) const = default;
};

/// Plays samples through a speaker, in place, from a state at rest. A low-pass or a peak at or
/// above half the rate is left out. Errors: bad_argument (rate, frequency or Q not above 0, the
/// high-pass too high for the rate), not_finite; the samples are then unchanged.
[[nodiscard]] Status through_speaker(std::span<float> samples, double sample_rate_hz,
                                     const SpeakerResponse& speaker);

/// Power gain of the same filters at a frequency from 0 to half the rate, at that rate.
[[nodiscard]] double speaker_power(double frequency_hz, double sample_rate_hz,
                                   const SpeakerResponse& speaker);

}  // namespace fourbeat::dsp
