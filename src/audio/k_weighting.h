// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <array>

namespace fourbeat::audio {

/// One second-order section, a0 = 1.
struct Biquad {
  double b0 = 1.0;
  double b1 = 0.0;
  double b2 = 0.0;
  double a1 = 0.0;
  double a2 = 0.0;
};

/// The two stages of K-weighting, BS.1770 Annex 1 Tables 1 and 2, at any rate: the bilinear
/// transform of the analogue filters behind the tables, which it meets at 48 kHz.
/// Rates from 100 Hz; below 4 kHz the shelf lies above the band and is left out.
[[nodiscard]] std::array<Biquad, 2> k_weighting(double sample_rate_hz);

}  // namespace fourbeat::audio
