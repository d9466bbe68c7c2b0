// SPDX-License-Identifier: GPL-3.0-or-later
#include "loop_search.h"
#include "seam_known.h"

#include <algorithm>
#include <array>
#include <cmath>

namespace fourbeat::dsp {

namespace {

constexpr double fine_shift_s = 0.002;
constexpr double shift_stride_s = 0.00025;
/// Crossfades tried in turn, until one is clean: brief ones first where both sides are alike, since
/// they then hide nothing; longer ones first where the sides share little.
constexpr double alike_correlation = 0.7;
constexpr std::array<double, 3> fades_alike_s = {0.02, 0.08, 0.3};
constexpr std::array<double, 3> fades_unlike_s = {0.08, 0.3, 0.02};
constexpr double longest_fade_s = 0.3;
constexpr double least_inside_s = 0.44;

/// The hops of a loop that lie in it as they do in the material: a hop's figures reach from one
/// hop before it to four after its start.
KnownHops known_hops(const Searched& searched, const LoopSpec& loop) {
  const std::int64_t hop = hop_frames_of(searched.material.sample_rate_hz);
  const std::int64_t start = loop.range.start.value();
  if (start % hop != 0 || loop.drift_db != 0.0 || !loop.octave_drift_db.empty()) return {};
  const std::int64_t fade = loop.crossfade_frames.value();
  const std::int64_t length = loop.range.length().value();
  const std::int64_t from = loop.at_start ? (fade + hop - 1) / hop + 1 : 1;
  const std::int64_t to = (loop.at_start ? length : length - fade) / hop - fine_hops + 1;
  const std::int64_t shift = start / hop;
  return {&searched.hops, shift, from, std::min(to, searched.hops.end_hop() - shift)};
}

/// Renders a loop of the material, without the rest of it, and measures its seam.
Result<SeamReport> measured(const Searched& searched, const LoopSpec& loop, std::uint64_t seed,
                            JobControl& job) {
  const audio::Pcm& material = searched.material;
  const FrameRange needed = needed_material(loop, material.sample_rate_hz, material.frames());
  audio::Pcm rendered{material.sample_rate_hz, {}};
  for (const std::vector<float>& channel : material.channels)
    rendered.channels.emplace_back(channel.begin() + needed.start.value(),
                                   channel.begin() + needed.end.value());
  const FrameCount shift = needed.start - FrameIndex(0);
  LoopSpec here = loop;
  here.range = {loop.range.start - shift, loop.range.end - shift};
  if (Status blended = blend_loop(rendered, here); !blended) return blended.error();
  return measure_seam_known(rendered, here, known_hops(searched, loop), seed, job);
}

/// A crossfade to be tried.
struct FadeWish {
  double seconds = 0.0;
  bool leaves_room = true;  ///< no longer than leaves enough of the loop to compare its level with
};

/// The fades to be tried in turn. The last is for short loops that nothing else mends.
std::vector<FadeWish> fades_for(double correlation) {
  std::vector<FadeWish> wishes;
  for (const double fade_s : correlation >= alike_correlation ? fades_alike_s : fades_unlike_s)
    wishes.push_back({fade_s, true});
  wishes.push_back({longest_fade_s, false});
  return wishes;
}

/// The loop with a crossfade of about what is wished, at most a quarter of it, on the side where it
/// fits.
LoopSpec with_fade(const FrameRange& range, const FadeWish& wish, const Bounds& bounds) {
  const std::int64_t length = range.length().value();
  const std::int64_t room = (length - std::llround(least_inside_s * bounds.rate_hz)) / 3;
  const std::int64_t briefest = std::llround(fades_alike_s.front() * bounds.rate_hz);
  const std::int64_t asked = std::llround(wish.seconds * bounds.rate_hz);
  const std::int64_t most = wish.leaves_room ? std::max(room, briefest) : asked;
  const std::int64_t wanted = std::min({asked, length / 4, most});
  const std::int64_t before = std::min(wanted, range.start.value());
  const std::int64_t after = std::min(wanted, bounds.frames - range.end.value());
  const bool at_start = before < after;
  return {range, FrameCount(at_start ? after : before), at_start, 0.0, {}};
}

/// The loop with a crossfade of about what is wished whose sides do not cancel, its end shifted by
/// as little as that takes: frame by frame up to 2 ms, then by quarters of a millisecond up to 20
/// ms. Nothing where they cancel everywhere there.
std::optional<LoopSpec> blend_near(const audio::Pcm& material, const Bounds& bounds,
                                   const FrameRange& range, const FadeWish& wish) {
  const std::int64_t fine = std::llround(fine_shift_s * bounds.rate_hz);
  const std::int64_t stride =
      std::max<std::int64_t>(1, std::llround(shift_stride_s * bounds.rate_hz));
  const std::int64_t reach = std::llround(match_reach_s * bounds.rate_hz);
  for (std::int64_t shift = 0; shift <= reach; shift += shift < fine ? 1 : stride) {
    for (const std::int64_t moved : {shift, -shift}) {
      const FrameRange shifted{range.start, range.end + FrameCount(moved)};
      const std::int64_t length = shifted.length().value();
      if (length < bounds.least || length > bounds.most || shifted.end.value() > bounds.frames)
        continue;
      const LoopSpec loop = with_fade(shifted, wish, bounds);
      if (blend_correlation(material, loop) >= least_blend_correlation) return loop;
      if (shift == 0) break;
    }
  }
  return std::nullopt;
}

}  // namespace

Result<LoopCandidate> best_blend(const Searched& searched, const FrameRange& range,
                                 double correlation, const LoopDrift& drift, std::uint64_t seed,
                                 JobControl& job) {
  const Bounds& bounds = searched.bounds;
  std::vector<LoopSpec> blends;
  std::vector<FrameCount> tried;
  for (const FadeWish& wish : fades_for(correlation)) {
    const FrameCount fade_frames = with_fade(range, wish, bounds).crossfade_frames;
    if (std::find(tried.begin(), tried.end(), fade_frames) != tried.end()) continue;
    tried.push_back(fade_frames);
    if (const auto loop = blend_near(searched.material, bounds, range, wish))
      blends.push_back(*loop);
  }
  if (blends.empty()) blends.push_back(with_fade(range, {0.0, true}, bounds));
  std::optional<LoopCandidate> best;
  for (LoopSpec& loop : blends) {
    loop.drift_db = drift.level_db;
    loop.octave_drift_db = drift.octaves_db;
    Result<SeamReport> seam = measured(searched, loop, seed, job);
    if (!seam) return seam.error();
    const double score = score_of(*seam, loop, bounds);
    if (!best || score > best->score) {
      const std::optional<double> period_s = seam->period_s;
      best = LoopCandidate{loop, period_s, *std::move(seam), score};
    }
    if (best->seam.state == SeamState::clean) break;
  }
  return *std::move(best);
}

}  // namespace fourbeat::dsp
