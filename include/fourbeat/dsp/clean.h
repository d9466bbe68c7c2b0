// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/result.h"

#include <span>
#include <vector>

namespace fourbeat::dsp {

/// Butterworth high-pass of even order 2 … 8 as cascaded second-order sections, in place, from a
/// state at rest. 0 < cutoff_hz < 0.45 × rate. Errors: bad_argument.
[[nodiscard]] Status high_pass(std::span<float> samples, double sample_rate_hz, double cutoff_hz,
                               int order);

/// Notches on fundamental_hz and its multiples, `harmonics` lines in all (those above
/// 0.45 × rate are left out), quality q each. Errors: bad_argument.
[[nodiscard]] Status hum_notch(std::span<float> samples, double sample_rate_hz,
                               double fundamental_hz, int harmonics, double q);

}  // namespace fourbeat::dsp
