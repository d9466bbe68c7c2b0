// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/work/joined_clip.h"

#include "fourbeat/audio/resample.h"
#include "fourbeat/base/decibels.h"
#include "fourbeat/dsp/crossfade.h"
#include "fourbeat/work/render.h"

#include <algorithm>
#include <cmath>
#include <span>

namespace fourbeat::work {

namespace {

constexpr double join_s = 0.010;  ///< as drive fades from part to part (docs/drive.md, section 10)

using Samples = std::vector<float>;

/// Both cut from the same microphones in the same way, the second where the first ends: nothing
/// is to be blended.
bool follows_on(const model::Segment& first, const model::Segment& second) {
  return first.source == second.source && first.range.end == second.range.start &&
         first.gain_db == second.gain_db && first.fade_out_frames == FrameCount(0) &&
         second.fade_in_frames == FrameCount(0);
}

/// Adds `next` to the end of `samples`, over its last `fade` frames, entering it up to
/// `most_offset` frames late.
void append(Samples& samples, Samples next, std::size_t fade, std::size_t most_offset) {
  fade = std::min({fade, samples.size(), next.size()});
  const std::size_t start = samples.size() - fade;
  const dsp::Entry entry = dsp::best_entry(std::span(samples).subspan(start), next, most_offset);
  next.erase(next.begin(), next.begin() + static_cast<std::ptrdiff_t>(entry.offset_frames));
  const double rho = entry.correlation;
  for (std::size_t i = 0; i < fade; ++i) {
    const auto place = static_cast<double>(i + 1) / static_cast<double>(fade + 1);
    const dsp::FadeGains gains = dsp::fade_gains(place, rho);
    samples[start + i] = static_cast<float>(gains.out * static_cast<double>(samples[start + i]) +
                                            gains.in * static_cast<double>(next[i]));
  }
  samples.insert(samples.end(), next.begin() + static_cast<std::ptrdiff_t>(fade), next.end());
}

/// The same sound with turns of its loop written out until the loop starts `frames` or later.
void start_loop_later(audio::Clip& clip, std::size_t frames) {
  if (!clip.loop) return;
  auto start = static_cast<std::size_t>(clip.loop->start.value());
  auto end = static_cast<std::size_t>(clip.loop->end.value());
  const Samples turn(clip.samples.begin() + static_cast<std::ptrdiff_t>(start),
                     clip.samples.begin() + static_cast<std::ptrdiff_t>(end));
  clip.samples.resize(end);
  for (; start < frames; start = end, end += turn.size())
    clip.samples.insert(clip.samples.end(), turn.begin(), turn.end());
  clip.samples.resize(end);
  clip.loop = frame_range(static_cast<std::int64_t>(start), static_cast<std::int64_t>(end));
}

class Joiner {
 public:
  Joiner(const model::Project& project, const std::filesystem::path& folder, JobControl& job)
      : project_(project), renderer_(project, folder), job_(job) {}

  Result<audio::Clip> part(Id<model::Segment> id) {
    if (job_.cancelled()) return Error{ErrorCode::cancelled, {}, {}, {}, {}};
    const model::Segment* segment = model::find(project_, id);
    if (segment == nullptr) return Error{ErrorCode::bad_argument, {}, {}, "no such segment", {}};
    return renderer_.render(model::piece_of(*segment));
  }

  Result<audio::Clip> held(const model::Sound& sound) {
    Result<audio::Clip> hold = part(sound.hold);
    if (!hold) return hold.error();
    start_loop_later(*hold, 0);  // what lies behind the loop is never heard
    const double rate = hold->sample_rate_hz;
    const auto fade = static_cast<std::size_t>(std::llround(join_s * rate));
    audio::Clip joined;
    joined.sample_rate_hz = rate;
    std::size_t hold_start = 0;
    if (sound.begin.is_set()) {
      Result<Samples> begin = samples_at(sound.begin, rate);
      if (!begin) return begin.error();
      joined.samples = std::move(*begin);
      const bool smooth =
          follows_on(*model::find(project_, sound.begin), *model::find(project_, sound.hold));
      const std::size_t blend =
          smooth ? 0 : std::min({fade, joined.samples.size() / 2, hold->samples.size()});
      start_loop_later(*hold, blend);
      hold_start = joined.samples.size() - blend;
      append(joined.samples, hold->samples, blend, 0);
    } else {
      joined.samples = hold->samples;
    }
    Samples release(fade, 0.0F);
    if (sound.release.is_set()) {
      Result<Samples> rendered = samples_at(sound.release, rate);
      if (!rendered) return rendered.error();
      release = std::move(*rendered);
    }
    if (hold->loop) {
      const auto start = static_cast<std::size_t>(hold->loop->start.value());
      const auto end = static_cast<std::size_t>(hold->loop->end.value());
      // The loop runs on under the release's first frames.
      for (std::size_t i = 0; i < fade; ++i)
        joined.samples.push_back(hold->samples[start + i % (end - start)]);
      joined.loop = frame_range(static_cast<std::int64_t>(hold_start + start),
                                static_cast<std::int64_t>(hold_start + end));
    }
    append(joined.samples, release, fade, fade);
    return joined;
  }

 private:
  Result<Samples> samples_at(Id<model::Segment> id, double rate) {
    Result<audio::Clip> clip = part(id);
    if (!clip) return clip.error();
    return audio::resample(clip->samples, clip->sample_rate_hz, rate);
  }

  const model::Project& project_;
  Renderer renderer_;
  JobControl& job_;
};

}  // namespace

Result<audio::Clip> joined_clip(const model::Project& project,
                                const std::filesystem::path& project_folder,
                                const model::Sound& sound, JobControl& job) {
  Joiner joiner(project, project_folder, job);
  Result<audio::Clip> clip =
      sound.kind == model::SoundKind::held ? joiner.held(sound) : joiner.part(sound.segment);
  if (!clip) return clip;
  if (sound.kind == model::SoundKind::one_shot) clip->loop.reset();
  const auto gain = static_cast<float>(gain_of_db(sound.gain_db));
  for (float& sample : clip->samples)
    sample *= gain;
  return clip;
}

}  // namespace fourbeat::work
