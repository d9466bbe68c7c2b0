// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/pcm.h"
#include "fourbeat/base/result.h"
#include "fourbeat/dsp/speaker.h"
#include "fourbeat/model/decoder_profile.h"

#include <cstdint>
#include <optional>
#include <string_view>

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
  int loop_turns = 1;  ///< turns of the source's loop that the stored loop holds; 1 without a loop
};

/// Resamples, raises, dithers, rounds. Repeatable bit for bit from `seed`.
///
/// Rate: audio::resample(). A loop is kept whole and seamless: its length becomes a whole number of
/// frames that obeys the profile's loop rules, by a change of pitch of at most 5 cents; where one
/// turn cannot, the loop is stored as the least number of turns that can. Samples behind the loop's
/// end are left out.
/// Level: up to two steps below full scale where the profile has a playback gain; otherwise as it
/// is, turned down no further than it takes to stay two steps below full scale. A source that never
/// passes -140 dBFS is stored as zeros.
/// Depth: TPDF dither of 2 LSB peak to peak, so that the error's mean and power do not depend on
/// the signal (Lipshitz, Wannamaker and Vanderkooy, JAES 40, 1992); samples are exact multiples of
/// 2^(1 - bits) and never reach a clip.
/// Errors: bad_argument (rate or depth the profile does not offer, source rate outside 1 Hz … 1
/// MHz, loop outside the source), not_finite, too_short (a loop that no number of turns brings
/// within the rules).
[[nodiscard]] Result<EncodedClip> encode(const audio::Clip& source, Encoding encoding,
                                         const model::DecoderProfile& profile, std::uint64_t seed);

/// The seed of a piece's dither, from its name: the same on every machine, whatever its place in
/// the set.
[[nodiscard]] std::uint64_t dither_seed(std::string_view name);

/// Loss of an encoding as a power ratio: A-weighted energy (IEC 61672-1) of the original minus its
/// round trip, over the A-weighted energy of the original; 0 for a silent original. The round trip
/// is the encoded clip, its gain restored, brought back to the source's rate and place by place
/// beside it; a loop's change of pitch is undone first, since nobody hears it. A looped clip counts
/// up to its loop's end, with the turns that are stored. speaker: what is lost counts as it passes
/// it (its power response); none: flat.
/// Errors: bad_argument (`encoded` has a loop where `source` has none, or the other way round).
[[nodiscard]] Result<double> encoding_loss(
    const audio::Clip& source, const EncodedClip& encoded,
    const std::optional<dsp::SpeakerResponse>& speaker = std::nullopt);

}  // namespace fourbeat::fit
