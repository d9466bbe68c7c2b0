// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/result.h"

#include <span>
#include <vector>

namespace fourbeat::dsp {

/// Butterworth high-pass of even order 2 … 8 as cascaded second-order sections (bilinear
/// transform, cutoff prewarped: -3.01 dB there), in place, from a state at rest.
/// 0 < cutoff_hz < 0.45 × rate. Errors: bad_argument, not_finite; the samples are then unchanged.
[[nodiscard]] Status high_pass(std::span<float> samples, double sample_rate_hz, double cutoff_hz,
                               int order);

/// Notches on fundamental_hz and its multiples, 1 … 64 `harmonics` lines in all (those above
/// 0.45 × rate are left out), in place, from a state at rest. Each notch is a second-order section
/// of quality q, 0.5 … 1000: it is 3 dB deep at line ± line / (2 q).
/// 0 < fundamental_hz < 0.45 × rate. Errors: bad_argument, not_finite; the samples are then
/// unchanged.
[[nodiscard]] Status hum_notch(std::span<float> samples, double sample_rate_hz,
                               double fundamental_hz, int harmonics, double q);

/// Tilts the spectrum by a constant slope about a pivot that keeps its level: first-order sections
/// whose real poles and zeros alternate at equal ratios of frequency (an octave; J. O. Smith and
/// H. F. Smith, "Closed Form Fractional Integration and Differentiation via Real Exponentially
/// Spaced Pole-Zero Pairs", 2016; from memory), in place, from a state at rest. Within 0.5 dB of
/// the slope from 40 Hz to 0.3 × rate at up to 6 dB an octave. db_per_octave: -6 to 6; 0 < pivot_hz
/// < 0.45 × rate. Errors: bad_argument, not_finite; the samples are then unchanged.
[[nodiscard]] Status tilt(std::span<float> samples, double sample_rate_hz, double db_per_octave,
                          double pivot_hz);

}  // namespace fourbeat::dsp
