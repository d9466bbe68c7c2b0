// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/work/hearing.h"

#include "fourbeat/audio/resample.h"
#include "fourbeat/base/decibels.h"
#include "fourbeat/base/random.h"
#include "fourbeat/work/segments.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace fourbeat::work {

namespace {

/// What filters are given before the first frame heard: whole frames at every common rate.
constexpr double settle_s = 0.24;
constexpr double edge_s = 0.01;                      ///< fade at both ends of what is heard
constexpr double between_s = 0.6;                    ///< silence between the two of a blind pair
constexpr double highest_peak = 0.8912509381337456;  // -1 dBFS

std::int64_t frames_in(double seconds, double rate_hz) {
  return std::llround(seconds * rate_hz);
}

/// A clip from `before` frames ahead of its wrap to `after` behind it; without a loop, from its
/// start, and silence around it.
std::vector<float> around(const audio::Clip& clip, std::int64_t before, std::int64_t after) {
  std::vector<float> samples;
  samples.reserve(static_cast<std::size_t>(before + after));
  const auto count = static_cast<std::int64_t>(clip.samples.size());
  for (std::int64_t i = -before; i < after; ++i) {
    std::int64_t place = i;
    if (clip.loop) {
      const std::int64_t length = clip.loop->length().value();
      place = clip.loop->start.value() + ((i % length) + length) % length;
    }
    samples.push_back(place >= 0 && place < count ? clip.samples[static_cast<std::size_t>(place)]
                                                  : 0.0F);
  }
  return samples;
}

void fade_ends(std::vector<float>& samples, double rate_hz) {
  const auto size = static_cast<std::int64_t>(samples.size());
  const std::int64_t frames = std::min(frames_in(edge_s, rate_hz), size / 2);
  for (std::int64_t i = 0; i < frames; ++i) {
    const float gain = static_cast<float>(i) / static_cast<float>(frames);
    samples[static_cast<std::size_t>(i)] *= gain;
    samples[static_cast<std::size_t>(size - 1 - i)] *= gain;
  }
}

void amplify(std::vector<float>& samples, double db) {
  const auto gain = static_cast<float>(gain_of_db(db));
  for (float& sample : samples)
    sample *= gain;
}

float peak_of(const std::vector<float>& samples) {
  float peak = 0.0F;
  for (const float sample : samples)
    peak = std::max(peak, std::abs(sample));
  return peak;
}

/// What is to be heard, in seconds: from `before_s` ahead of the wrap (or start) to `after_s`
/// behind.
struct AroundWrap {
  double before_s = 0.0;
  double after_s = 0.0;
};

/// A stretch of a clip at `rate_hz`, with settle_s more on either side.
Result<std::vector<float>> stretch_of(const audio::Clip& clip, AroundWrap stretch, double rate_hz) {
  // Whole frames of the rate asked for, so that the wrap is on a frame in both.
  std::vector<float> own = around(clip, frames_in(stretch.before_s + settle_s, clip.sample_rate_hz),
                                  frames_in(stretch.after_s + settle_s, clip.sample_rate_hz));
  if (clip.sample_rate_hz == rate_hz) return own;
  return audio::resample(own, clip.sample_rate_hz, rate_hz);
}

/// Cuts what was there to settle off, and brings it to `frames`.
std::vector<float> cut(const std::vector<float>& samples, double rate_hz, std::int64_t frames) {
  const auto skip = static_cast<std::size_t>(frames_in(settle_s, rate_hz));
  std::vector<float> heard(static_cast<std::size_t>(frames), 0.0F);
  const std::size_t count =
      std::min(heard.size(), samples.size() > skip ? samples.size() - skip : 0);
  std::copy_n(samples.begin() + static_cast<std::ptrdiff_t>(skip), count, heard.begin());
  fade_ends(heard, rate_hz);
  return heard;
}

/// Brings all to the loudness of the first, then all together under highest_peak.
std::optional<double> match(std::vector<audio::Clip>& clips) {
  const std::optional<ClipLoudness> wanted = loudness_of(clips.front());
  float peak = 0.0F;
  for (audio::Clip& clip : clips) {
    const std::optional<ClipLoudness> own = loudness_of(clip);
    if (wanted && own && own->is_lufs == wanted->is_lufs)
      amplify(clip.samples, wanted->db - own->db);
    peak = std::max(peak, peak_of(clip.samples));
  }
  if (!wanted) return std::nullopt;
  double down_db = 0.0;
  if (peak > highest_peak) {
    down_db = db_of_amplitude(highest_peak / static_cast<double>(peak)).value_or(0.0);
    for (audio::Clip& clip : clips)
      amplify(clip.samples, down_db);
  }
  return wanted->db + down_db;
}

Result<audio::Clip> stored_form(const audio::Clip& clip, const std::string& name,
                                const HearingPlan& plan) {
  audio::Clip source = clip;
  amplify(source.samples, plan.baked_db);
  Result<fit::EncodedClip> encoded =
      fit::encode(source, plan.encoding, *plan.profile, fit::dither_seed(name));
  if (!encoded) return encoded.error();
  amplify(encoded->clip.samples, encoded->playback_gain_db - plan.baked_db);
  return std::move(encoded->clip);
}

}  // namespace

HearingPlan hearing_plan(const model::Project& project,
                         const std::optional<model::DecoderProfile>& profile,
                         const FittedSet* fitted, const std::string& piece_name) {
  HearingPlan plan;
  plan.speaker = project.speaker;
  plan.profile = profile;
  if (!profile || profile->sample_rates_hz.empty() || profile->bits.empty()) {
    plan.profile.reset();
    return plan;
  }
  plan.encoding = {profile->sample_rates_hz.back(), profile->bits.back()};
  if (fitted == nullptr || fitted->profile.id != profile->id) return plan;
  for (std::size_t i = 0; i < fitted->fit.sounds.size(); ++i) {
    const fit::FitSound& sound = fitted->fit.sounds[i];
    if (sound.name != piece_name && i != 0) continue;
    // A piece that is not fitted yet is stored as the others are.
    plan.encoding = sound.encoding;
    plan.baked_db = sound.name == piece_name ? sound.baked_db : 0.0;
  }
  return plan;
}

Result<Hearing> hear(const audio::Clip& clip, const std::string& name, const HearingPlan& plan,
                     double side_s) {
  if (!(side_s > 0.0) || side_s > 60.0) {
    return Error{ErrorCode::bad_argument, {}, {}, fmt::format("{} s about the seam", side_s), {}};
  }
  const double rate_hz = clip.sample_rate_hz;
  const bool looped = clip.loop && !clip.loop->empty();
  const auto whole = static_cast<std::int64_t>(clip.samples.size());
  const std::int64_t before = looped ? frames_in(side_s, rate_hz) : 0;
  const std::int64_t after = looped ? before : whole;
  const AroundWrap stretch{static_cast<double>(before) / rate_hz,
                           static_cast<double>(after) / rate_hz};

  Hearing hearing;
  hearing.wrap = FrameIndex(before);
  std::vector<std::vector<float>> settled(2);  // as recorded, as stored
  Result<std::vector<float>> recorded = stretch_of(clip, stretch, rate_hz);
  if (!recorded) return recorded.error();
  settled[0] = std::move(*recorded);
  if (plan.profile) {
    const Result<audio::Clip> stored = stored_form(clip, name, plan);
    if (!stored) return stored.error();
    Result<std::vector<float>> back = stretch_of(*stored, stretch, rate_hz);
    if (!back) return back.error();
    settled[1] = std::move(*back);
    hearing.encoding = plan.encoding;
  }
  std::vector<audio::Clip> clips;
  std::vector<std::size_t> places;
  const auto keep = [&](std::size_t place, const std::vector<float>& samples) {
    clips.push_back({rate_hz, place % 2 == 1 ? plan.encoding.bits : clip.bits,
                     cut(samples, rate_hz, before + after), std::nullopt});
    places.push_back(place);
  };
  for (std::size_t stored = 0; stored < 2; ++stored) {
    if (settled[stored].empty()) continue;
    keep(stored, settled[stored]);
    if (!plan.speaker) continue;
    if (const Status filtered =
            dsp::through_speaker(settled[stored], rate_hz, response_of(*plan.speaker));
        !filtered) {
      return filtered.error();
    }
    keep(stored + 2, settled[stored]);
    hearing.speaker = plan.speaker->name;
  }
  hearing.matched_db = match(clips);
  for (std::size_t i = 0; i < clips.size(); ++i)
    hearing.clips[places[i]] = std::make_shared<const audio::Clip>(std::move(clips[i]));
  return hearing;
}

Result<BlindPair> blind_pair(const audio::Clip& a, const audio::Clip& b, std::uint64_t seed,
                             JobControl& job) {
  std::vector<audio::Clip> both{a, b};
  if (a.sample_rate_hz != b.sample_rate_hz) {
    Result<std::vector<float>> other =
        audio::resample(b.samples, b.sample_rate_hz, a.sample_rate_hz);
    if (!other) return other.error();
    both[1] = {a.sample_rate_hz, b.bits, std::move(*other), std::nullopt};
  }
  if (job.cancelled()) return Error{ErrorCode::cancelled, {}, {}, {}, {}};
  match(both);
  if (job.cancelled()) return Error{ErrorCode::cancelled, {}, {}, {}, {}};
  BlindPair pair;
  Random random(seed);
  pair.swapped = random.below(2) == 1;
  const audio::Clip& first = both[pair.swapped ? 1 : 0];
  const audio::Clip& second = both[pair.swapped ? 0 : 1];
  audio::Clip joined{a.sample_rate_hz, 32, first.samples, std::nullopt};
  joined.samples.resize(
      joined.samples.size() + static_cast<std::size_t>(frames_in(between_s, a.sample_rate_hz)),
      0.0F);
  pair.second_from = FrameIndex(static_cast<std::int64_t>(joined.samples.size()));
  joined.samples.insert(joined.samples.end(), second.samples.begin(), second.samples.end());
  pair.clip = std::make_shared<const audio::Clip>(std::move(joined));
  return pair;
}

}  // namespace fourbeat::work
