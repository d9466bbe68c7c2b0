// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/pcm.h"
#include "fourbeat/base/result.h"
#include "fourbeat/model/decoder_profile.h"

#include <cstdint>
#include <optional>

namespace fourbeat::fit {

struct Encoding {
  int sample_rate_hz = 0;
  int bits = 0;
  bool operator==(const Encoding&) const = default;
};

/// A sound as a decoder stores it.
struct EncodedClip {
  audio::Clip clip;  ///< rounded samples at the final rate; loop by the profile's rules
  double playback_gain_db = 0.0;  ///< what restores the original level (0 without playback gain)
};

/// Resamples (soxr), keeps the loop whole and seamless (its length becomes a whole number of
/// frames that obeys the profile's loop rules, by a change of pitch below what is heard, stated in
/// docs), raises to full scale where the profile has a playback gain, adds TPDF dither of 2 LSB
/// peak to peak from `seed`, rounds. Repeatable bit for bit.
/// Errors: bad_argument (rate or depth the profile does not offer), too_short (a loop shorter than
/// the rules allow).
[[nodiscard]] Result<EncodedClip> encode(const audio::Clip& source, Encoding encoding,
                                         const model::DecoderProfile& profile, std::uint64_t seed);

/// Loss of an encoding as a power ratio: A-weighted energy of (original - round trip), as heard,
/// over the A-weighted energy of the original. 0 for a silent original.
[[nodiscard]] Result<double> encoding_loss(const audio::Clip& source, const EncodedClip& encoded);

}  // namespace fourbeat::fit
