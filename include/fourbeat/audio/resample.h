// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/pcm.h"
#include "fourbeat/base/result.h"

#include <vector>

namespace fourbeat::audio {

/// One channel at another rate: libsoxr at its highest quality (VHQ, linear phase, one thread).
/// The ratio may be any real number: rates are doubles.
/// Output length: round(samples × to_hz / from_hz); sample 0 of the output is at the time of
/// sample 0 of the input; in front of it and behind the last there is silence. Equal rates copy.
/// The output is rounded to multiples of 2^-28, the precision of VHQ: libsoxr picks one of two
/// engines by the processor, which differ by about 1e-15, and the same bits come out of both but
/// where a value lies that close to the middle of two multiples (once in some 10^6 samples, one
/// multiple or -169 dBFS apart; after rounding to 16 bits once in 10^10).
/// Errors: bad_argument (rates outside 1 Hz … 1 MHz), not_finite (place: the frame), too_large
/// (more than 2^31 - 1 frames would come out), internal.
[[nodiscard]] Result<std::vector<float>> resample(MonoView samples, double from_hz, double to_hz);

}  // namespace fourbeat::audio
