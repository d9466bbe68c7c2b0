// SPDX-License-Identifier: GPL-3.0-or-later
#include "image_clips.h"

#include "refusal.h"

#include "fourbeat/audio/resample.h"

#include <algorithm>
#include <cmath>
#include <utility>

namespace fourbeat::drive {

namespace {

// Context on which a resampled loop settles before it is taken: longer than soxr's filter.
constexpr std::int64_t settle_frames = 4096;

}  // namespace

Status check_clip(const PieceSound& sound, const std::string& name) {
  const audio::Clip& clip = sound.clip;
  if (!within(clip.sample_rate_hz, 1.0, 1e6)) return bad(name, "the clip has no sample rate");
  if (!within(sound.playback_gain_db, -most_gain_db, most_gain_db)) {
    return bad(name, "the playback gain is outside -120 to 120 dB");
  }
  if (clip.loop && (clip.loop->empty() || clip.loop->start.value() < 0 ||
                    std::cmp_greater(clip.loop->end.value(), clip.samples.size()))) {
    return bad(name, "the loop lies outside the clip");
  }
  if (!std::all_of(clip.samples.begin(), clip.samples.end(),
                   [](float sample) { return std::isfinite(sample); })) {
    return Error{ErrorCode::not_finite, {}, name, "a sample of the clip is no number", {}};
  }
  return ok();
}

Result<ImageClip> plain_clip(const audio::Clip& clip, int rate_hz) {
  ImageClip made;
  auto samples = audio::resample(clip.samples, clip.sample_rate_hz, rate_hz);
  if (!samples) return samples.error();
  made.samples = *std::move(samples);
  return made;
}

Result<ImageClip> looped_clip(const audio::Clip& clip, int rate_hz) {
  const auto start = static_cast<std::size_t>(clip.loop->start.value());
  const auto end = static_cast<std::size_t>(clip.loop->end.value());
  ImageClip made;
  if (clip.sample_rate_hz == rate_hz) {
    made.samples.assign(clip.samples.begin(),
                        clip.samples.begin() + static_cast<std::ptrdiff_t>(end));
    made.loop_start = clip.loop->start.value();
    return made;
  }
  const std::int64_t length = clip.loop->length().value();
  const auto out_length = std::max<std::int64_t>(
      1, std::llround(static_cast<double>(length) * rate_hz / clip.sample_rate_hz));
  const double ratio = static_cast<double>(out_length) / static_cast<double>(length);
  const std::int64_t settling = (settle_frames + length - 1) / length;  // whole loops
  std::vector<float> unrolled(clip.samples.begin(),
                              clip.samples.begin() + static_cast<std::ptrdiff_t>(end));
  unrolled.reserve(end + static_cast<std::size_t>(length * (2 * settling + 1)));
  for (std::int64_t loop = 0; loop < 2 * settling + 1; ++loop) {
    for (std::size_t i = start; i < end; ++i)
      unrolled.push_back(clip.samples[i]);
  }
  auto samples = audio::resample(unrolled, clip.sample_rate_hz, clip.sample_rate_hz * ratio);
  if (!samples) return samples.error();
  made.samples = *std::move(samples);
  made.loop_start = std::llround(static_cast<double>(start) * ratio) + settling * out_length;
  const std::int64_t loop_end = made.loop_start + out_length;
  if (loop_end > made.frames()) {
    return Error{ErrorCode::internal, {}, {}, "the resampled loop came out too short", {}};
  }
  made.samples.resize(static_cast<std::size_t>(loop_end));
  return made;
}

}  // namespace fourbeat::drive
