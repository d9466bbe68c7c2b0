// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/pcm.h"
#include "fourbeat/base/result.h"

#include <vector>

namespace fourbeat::audio {

/// One channel at another rate: libsoxr at its highest quality (VHQ, linear phase, float in and
/// out, one thread). The ratio may be any real number: rates are doubles.
/// Output length: round(samples × to_hz / from_hz); sample 0 of the output is at the time of
/// sample 0 of the input. Equal rates copy. Bit-for-bit repeatable.
/// Errors: bad_argument (rates outside 1 Hz … 1 MHz), internal.
[[nodiscard]] Result<std::vector<float>> resample(MonoView samples, double from_hz, double to_hz);

}  // namespace fourbeat::audio
