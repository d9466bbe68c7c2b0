// SPDX-License-Identifier: GPL-3.0-or-later
#include "plan.h"
#include "weighting.h"

#include "fourbeat/audio/resample.h"
#include "fourbeat/base/decibels.h"
#include "fourbeat/fit/encode.h"

namespace fourbeat::fit {

Result<double> encoding_loss(const audio::Clip& source, const EncodedClip& encoded,
                             const std::optional<dsp::SpeakerResponse>& speaker) {
  const audio::Clip& clip = encoded.clip;
  const bool looped = source.loop.has_value();
  if (looped != clip.loop.has_value() || encoded.loop_turns < 1 ||
      !(source.sample_rate_hz >= 1.0 && clip.sample_rate_hz >= 1.0)) {
    return Error{ErrorCode::bad_argument, {}, {}, "an encoding of another clip", {}};
  }
  // What is heard of the original: all of it, or its head and the turns that were stored.
  auto frames = static_cast<std::int64_t>(source.samples.size());
  double stored_hz = clip.sample_rate_hz;
  if (looped) {
    const std::int64_t loop_in = source.loop->length().value() * encoded.loop_turns;
    frames = source.loop->start.value() + loop_in;
    stored_hz = source.sample_rate_hz * static_cast<double>(clip.loop->length().value()) /
                static_cast<double>(loop_in);
  }
  std::vector<float> difference = played(source, frames);
  const double original = a_weighted_energy(difference, source.sample_rate_hz);
  if (!(original > 0.0)) return 0.0;

  // The stored clip plays on for a filter's reach, so that its end is no edge.
  const auto stored = static_cast<std::int64_t>(clip.samples.size());
  const auto reach = static_cast<std::int64_t>(std::ceil(
      static_cast<double>(filter_reach_frames) * std::max(1.0, stored_hz / source.sample_rate_hz)));
  const Result<std::vector<float>> back =
      audio::resample(played(clip, stored + reach), stored_hz, source.sample_rate_hz);
  if (!back) return back.error();
  const double gain = gain_of_db(encoded.playback_gain_db);
  for (std::size_t i = 0; i < difference.size(); ++i) {
    const double heard = i < back->size() ? gain * static_cast<double>((*back)[i]) : 0.0;
    difference[i] = static_cast<float>(static_cast<double>(difference[i]) - heard);
  }
  return a_weighted_energy(difference, source.sample_rate_hz, speaker) / original;
}

}  // namespace fourbeat::fit
