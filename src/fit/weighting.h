// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/pcm.h"
#include "fourbeat/dsp/speaker.h"

#include <optional>

namespace fourbeat::fit {

/// Power gain of the A-weighting at a frequency, 1 at 1 kHz (IEC 61672-1, analytical form).
[[nodiscard]] double a_weight_power(double frequency_hz);

/// A-weighted energy: the sum of squares of the weighted samples, by their spectrum in blocks
/// whose windows' squares add up to one, so that every sample counts once. speaker: each frequency
/// counts as it passes it. Cost O(n log n).
[[nodiscard]] double a_weighted_energy(
    audio::MonoView samples, double sample_rate_hz,
    const std::optional<dsp::SpeakerResponse>& speaker = std::nullopt);

}  // namespace fourbeat::fit
