// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/pcm.h"
#include "fourbeat/base/result.h"

#include <span>
#include <vector>

namespace fourbeat::dsp {

/// Normalised correlation of two equally long sides, -1 to 1; 0 where one is silent.
[[nodiscard]] double correlation(audio::MonoView a, audio::MonoView b);

/// The two gains of a crossfade at a place.
struct FadeGains {
  double out = 1.0;
  double in = 0.0;
};

/// The law that keeps the sum's power flat for sides of equal power and correlation rho:
/// out² + in² + 2 rho out in = 1. rho = 1: equal gain; rho = 0: equal power. rho is clamped to
/// 0 … 1 here: a negative one must be shifted or refused before. place: 0 to 1.
[[nodiscard]] FadeGains fade_gains(double place, double rho);

/// A loop as it is rendered: source frames, half-open, and where its blend lies.
struct LoopSpec {
  FrameRange range;
  FrameCount crossfade_frames;
  bool at_start = false;  ///< blend the first frames with those after the end instead
};

/// A correlation between this and 0 counts as 0: it is what rounding makes of sides that share
/// nothing, such as tones a quarter of a period apart. Below it, a blend is refused.
inline constexpr double least_blend_correlation = -1.0e-6;

/// Correlation of the two sides that blend_loop() would mix: the mean over the channels in which
/// both sides sound; 0 where there is none. `loop` and its blend must lie inside `pcm`.
[[nodiscard]] double blend_correlation(const audio::Pcm& pcm, const LoopSpec& loop);

/// Blends a loop in place over all channels with one rho, blend_correlation(): the last
/// crossfade_frames before range.end with those before range.start, or, at_start, the first
/// crossfade_frames of the loop with those after its end. Frame i of n stands at place
/// (i + 1) / (n + 1), so that both ends run on into original frames. Frames outside the blend stay
/// as they are. Errors: bad_argument (range outside, crossfade longer than its material or than
/// the loop; rho below least_blend_correlation: detail says so), not_finite. On error nothing has
/// changed.
[[nodiscard]] Status blend_loop(audio::Pcm& pcm, const LoopSpec& loop);

}  // namespace fourbeat::dsp
