// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/dsp/crossfade.h"

#include <fmt/format.h>

#include <algorithm>
#include <cassert>
#include <cmath>

namespace fourbeat::dsp {

namespace {

Error bad_loop(std::string place, std::string detail, std::string mend) {
  return {ErrorCode::bad_argument, "", std::move(place), std::move(detail), std::move(mend)};
}

/// The side that fades out, the side that fades in, and where the blend goes, as first frames.
struct BlendPlaces {
  std::size_t out = 0;
  std::size_t in = 0;
  std::size_t target = 0;
};

BlendPlaces places_of(const LoopSpec& loop) {
  const std::int64_t start = loop.range.start.value();
  const std::int64_t end = loop.range.end.value();
  const std::int64_t fade = loop.crossfade_frames.value();
  if (loop.at_start) {
    return {static_cast<std::size_t>(end), static_cast<std::size_t>(start),
            static_cast<std::size_t>(start)};
  }
  return {static_cast<std::size_t>(end - fade), static_cast<std::size_t>(start - fade),
          static_cast<std::size_t>(end - fade)};
}

Status check_loop(const audio::Pcm& pcm, const LoopSpec& loop) {
  const std::int64_t frames = pcm.frames().value();
  const std::int64_t start = loop.range.start.value();
  const std::int64_t end = loop.range.end.value();
  const std::int64_t fade = loop.crossfade_frames.value();
  for (const std::vector<float>& channel : pcm.channels) {
    if (static_cast<std::int64_t>(channel.size()) != frames)
      return bad_loop("channels", "the channels are not equally long", "");
  }
  if (start < 0 || end > frames || start >= end) {
    return bad_loop("range",
                    fmt::format("loop {} to {} does not lie in the {} frames", start, end, frames),
                    "move the loop inside the material");
  }
  if (fade < 0) return bad_loop("crossfade_frames", fmt::format("{} is negative", fade), "");
  if (fade > end - start) {
    return bad_loop("crossfade_frames",
                    fmt::format("a crossfade of {} frames is longer than the loop of {} frames",
                                fade, end - start),
                    "shorten the crossfade");
  }
  const std::int64_t material = loop.at_start ? frames - end : start;
  if (fade > material) {
    return bad_loop(
        "crossfade_frames",
        fmt::format("a crossfade of {} frames needs as many {}; the material holds {} there", fade,
                    loop.at_start ? "after the loop's end" : "before the loop's start", material),
        "shorten the crossfade or move the loop");
  }
  return ok();
}

bool all_finite(audio::MonoView samples) {
  return std::all_of(samples.begin(), samples.end(), [](float x) { return std::isfinite(x); });
}

}  // namespace

double correlation(audio::MonoView a, audio::MonoView b) {
  assert(a.size() == b.size());
  double aa = 0.0;
  double bb = 0.0;
  double ab = 0.0;
  for (std::size_t i = 0; i < a.size(); ++i) {
    const double x = a[i];
    const double y = b[i];
    aa += x * x;
    bb += y * y;
    ab += x * y;
  }
  if (!(aa > 0.0) || !(bb > 0.0)) return 0.0;
  const double rho = ab / (std::sqrt(aa) * std::sqrt(bb));
  return std::isfinite(rho) ? std::clamp(rho, -1.0, 1.0) : 0.0;
}

FadeGains fade_gains(double place, double rho) {
  const double in = std::clamp(place, 0.0, 1.0);
  const double out = 1.0 - in;
  const double shared = std::clamp(rho, 0.0, 1.0);
  const double scale = 1.0 / std::sqrt(out * out + in * in + 2.0 * shared * out * in);
  return {out * scale, in * scale};
}

double blend_correlation(const audio::Pcm& pcm, const LoopSpec& loop) {
  const auto fade = static_cast<std::size_t>(loop.crossfade_frames.value());
  const BlendPlaces at = places_of(loop);
  double sum = 0.0;
  int sounding = 0;
  for (const std::vector<float>& channel : pcm.channels) {
    const audio::MonoView all(channel);
    const audio::MonoView out = all.subspan(at.out, fade);
    const audio::MonoView in = all.subspan(at.in, fade);
    const auto sounds = [](float x) { return x != 0.0F; };
    if (std::none_of(out.begin(), out.end(), sounds) || std::none_of(in.begin(), in.end(), sounds))
      continue;
    sum += correlation(out, in);
    ++sounding;
  }
  return sounding == 0 ? 0.0 : sum / sounding;
}

Status blend_loop(audio::Pcm& pcm, const LoopSpec& loop) {
  if (Status checked = check_loop(pcm, loop); !checked) return checked;
  const auto fade = static_cast<std::size_t>(loop.crossfade_frames.value());
  if (fade == 0) return ok();
  const BlendPlaces at = places_of(loop);
  for (const std::vector<float>& channel : pcm.channels) {
    const audio::MonoView all(channel);
    if (!all_finite(all.subspan(at.out, fade)) || !all_finite(all.subspan(at.in, fade)))
      return Error{ErrorCode::not_finite, "", "crossfade", "a sample of the blend", ""};
  }
  const double rho = blend_correlation(pcm, loop);
  if (rho < least_blend_correlation) {
    return bad_loop("crossfade_frames",
                    fmt::format("the two sides of the crossfade cancel (correlation {:.3f})", rho),
                    "shift the loop's start or end a little, or choose another crossfade");
  }
  for (std::vector<float>& channel : pcm.channels) {
    for (std::size_t i = 0; i < fade; ++i) {
      const double place = static_cast<double>(i + 1) / static_cast<double>(fade + 1);
      const FadeGains gains = fade_gains(place, rho);
      channel[at.target + i] =
          static_cast<float>(gains.out * channel[at.out + i] + gains.in * channel[at.in + i]);
    }
  }
  return ok();
}

}  // namespace fourbeat::dsp
