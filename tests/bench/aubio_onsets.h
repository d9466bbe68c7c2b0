// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/pcm.h"

#include <array>
#include <vector>

namespace fourbeat::tests {

/// aubio's onset methods, by its names (aubio 0.4.9, "aubio_specdesc").
inline constexpr std::array<const char*, 9> aubio_methods = {
    "energy", "hfc", "complex", "phase", "specdiff", "kl", "mkl", "specflux", "wphase"};

/// Onset times by one of aubio's methods: window 1024, hop 256 frames, scaled up with the rate over
/// 48 kHz. threshold: its peak picker's; 0: the method's own. least_s: between two onsets.
[[nodiscard]] std::vector<double> aubio_onsets(audio::MonoView samples, double sample_rate_hz,
                                               const char* method, double threshold,
                                               double least_s);

}  // namespace fourbeat::tests
