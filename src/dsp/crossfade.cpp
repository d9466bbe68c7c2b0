// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/dsp/crossfade.h"

#include "octave_ramp.h"
#include "plain_log.h"

#include <fmt/format.h>

#include <algorithm>
#include <cassert>
#include <cmath>

namespace fourbeat::dsp {

namespace {

constexpr double least_entry_correlation = 0.5;  // as of a sound with a period
constexpr double least_entry_gain = 0.05;
constexpr double ln_of_1_db = 0.11512925464970229;  // ln 10 / 20

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
  if (!(std::abs(loop.drift_db) <= most_drift_db))
    return bad_loop("drift_db", fmt::format("{:.6g} dB", loop.drift_db), "give -12 to 12 dB");
  if (loop.octave_drift_db.size() > most_octaves) {
    return bad_loop("octave_drift_db", fmt::format("{} octaves", loop.octave_drift_db.size()),
                    "give at most six");
  }
  for (const double db : loop.octave_drift_db) {
    if (!(std::abs(db) <= most_drift_db))
      return bad_loop("octave_drift_db", fmt::format("{:.6g} dB", db), "give -12 to 12 dB");
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

Entry best_entry(audio::MonoView before, audio::MonoView next, std::size_t most_offset) noexcept {
  const std::size_t width = before.size();
  if (width == 0 || next.size() < width) return {};
  Entry best{0, correlation(before, next.first(width))};
  double most = std::max(least_entry_correlation, best.correlation + least_entry_gain);
  double own = 0.0;
  double there = 0.0;
  for (std::size_t i = 0; i < width; ++i) {
    own += static_cast<double>(before[i]) * before[i];
    there += static_cast<double>(next[i]) * next[i];
  }
  for (std::size_t offset = 1; offset <= std::min(most_offset, next.size() - width); ++offset) {
    const double gone = next[offset - 1];
    const double come = next[offset + width - 1];
    there = std::max(0.0, there + come * come - gone * gone);
    double product = 0.0;
    for (std::size_t i = 0; i < width; ++i)
      product += static_cast<double>(before[i]) * next[offset + i];
    const double norm = std::sqrt(own * there);
    const double rho = norm > 0.0 ? std::min(1.0, product / norm) : 0.0;
    if (rho < most) continue;
    best = {offset, rho};
    most = rho + 1e-6;
  }
  return best;
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

double tone_drift_db(const std::vector<double>& octave_drift_db) {
  const std::size_t half = octave_drift_db.size() / 2;
  double sum = 0.0;
  for (std::size_t o = 0; o < half; ++o)
    sum += octave_drift_db[octave_drift_db.size() - 1 - o] - octave_drift_db[o];
  return half > 0 ? sum / static_cast<double>(half) : 0.0;
}

double octave_drift_spread_db(const std::vector<double>& octave_drift_db) {
  if (octave_drift_db.empty()) return 0.0;
  const auto [least, most] = std::minmax_element(octave_drift_db.begin(), octave_drift_db.end());
  return *most - *least;
}

bool tone_tells(const std::vector<double>& octave_drift_db) {
  return std::abs(tone_drift_db(octave_drift_db)) >= 0.5 * octave_drift_spread_db(octave_drift_db);
}

FrameRange needed_material(const LoopSpec& loop, double sample_rate_hz, FrameCount available) {
  const FrameCount fade = loop.crossfade_frames;
  const FrameCount none(0);
  const FrameCount reach(loop.octave_drift_db.empty() ? 0 : octave_reach_frames(sample_rate_hz));
  const FrameIndex start = loop.range.start - (loop.at_start ? none : fade) - reach;
  const FrameIndex end = loop.range.end + (loop.at_start ? fade : none) + reach;
  return {std::max(start, FrameIndex(0)), std::min(end, FrameIndex(0) + available)};
}

void take_out_level_drift(audio::Pcm& pcm, const LoopSpec& loop) {
  if (loop.drift_db == 0.0) return;
  const std::int64_t frames = pcm.frames().value();
  const std::int64_t start = loop.range.start.value();
  const std::int64_t fade = loop.crossfade_frames.value();
  const std::int64_t first = start - (loop.at_start ? 0 : fade);
  const std::int64_t last = loop.range.end.value() + (loop.at_start ? fade : 0);
  const double ln_a_frame =
      -loop.drift_db * ln_of_1_db / static_cast<double>(loop.range.length().value());
  const double ratio = plain_exp(ln_a_frame);
  double gain = plain_exp(ln_a_frame * static_cast<double>(first - start));
  for (std::int64_t i = 0; i < frames; ++i) {
    if (i > first && i < last) gain *= ratio;
    for (std::vector<float>& channel : pcm.channels) {
      float& x = channel[static_cast<std::size_t>(i)];
      x = static_cast<float>(gain * x);
    }
  }
}

Status blend_loop(audio::Pcm& pcm, const LoopSpec& loop) {
  if (Status checked = check_loop(pcm, loop); !checked) return checked;
  const auto fade = static_cast<std::size_t>(loop.crossfade_frames.value());
  const BlendPlaces at = places_of(loop);
  for (const std::vector<float>& channel : pcm.channels) {
    const audio::MonoView all(channel);
    if (!all_finite(all.subspan(at.out, fade)) || !all_finite(all.subspan(at.in, fade)))
      return Error{ErrorCode::not_finite, "", "crossfade", "a sample of the blend", ""};
  }
  double rho = blend_correlation(pcm, loop);
  if (fade > 0 && rho < least_blend_correlation) {
    return bad_loop("crossfade_frames",
                    fmt::format("the two sides of the crossfade cancel (correlation {:.3f})", rho),
                    "shift the loop's start or end a little, or choose another crossfade");
  }
  if (!loop.octave_drift_db.empty()) {
    take_out_octave_drift(pcm, loop);
    rho = blend_correlation(pcm, loop);
  }
  take_out_level_drift(pcm, loop);
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
