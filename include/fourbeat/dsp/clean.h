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

}  // namespace fourbeat::dsp
