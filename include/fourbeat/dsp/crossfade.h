// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/pcm.h"
#include "fourbeat/base/result.h"

#include <cstddef>
#include <span>
#include <vector>

namespace fourbeat::dsp {

/// Normalised correlation of two equally long sides, -1 to 1; 0 where one is silent.
[[nodiscard]] double correlation(audio::MonoView a, audio::MonoView b);

/// Where a sound is entered so that it runs on with what is heard until then.
struct Entry {
  std::size_t offset_frames = 0;
  double correlation = 0.0;  ///< of the two sides there
};

/// Entry of `next` after `before`, which sounds on over the crossfade (as long as `before`): at its
/// start, unless the two sides are alike (correlation 0.5 or more) up to `most_offset` frames
/// later, and more so than there. A tone is then entered in phase; noise, or a sound with an attack
/// of its own, is not shifted. Allocates nothing; cost: before.size() × most_offset.
[[nodiscard]] Entry best_entry(audio::MonoView before, audio::MonoView next,
                               std::size_t most_offset) noexcept;

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
  /// Level of the end over the start in dB, -12 to 12: taken out by a ramp of gain, in dB even from
  /// 0 at the start to -drift_db at the end, on over the blend's material and held beyond.
  double drift_db = 0.0;
  /// Drift of the octaves beside that of the level, end over start in dB, -12 to 12: of what lies
  /// below 500 Hz, then to 1, 2, 4, 8 kHz, and above, at most six; what lies above the last goes
  /// with it. Taken out likewise. Empty: the tone stays.
  std::vector<double> octave_drift_db;
};

/// A drift of octaves as one figure: the mean of their upper half less that of their lower half, in
/// dB; over 0, the loop's end is brighter than its start. 0 for fewer than two.
[[nodiscard]] double tone_drift_db(const std::vector<double>& octave_drift_db);
/// How far its octaves' drifts lie apart, in dB. 0 without any.
[[nodiscard]] double octave_drift_spread_db(const std::vector<double>& octave_drift_db);
/// Whether tone_drift_db() tells such a drift: it shows at least half of how far the octaves'
/// drifts lie apart. Where the middle ones alone drift, it does not.
[[nodiscard]] bool tone_tells(const std::vector<double>& octave_drift_db);

/// The frames of a material of `available` frames that have a say in a loop as it is rendered: loop
/// and blend, and where octaves drift, 20 ms more on both sides. `loop` and its blend must lie
/// inside.
[[nodiscard]] FrameRange needed_material(const LoopSpec& loop, double sample_rate_hz,
                                         FrameCount available);

/// A correlation between this and 0 counts as 0: it is what rounding makes of sides that share
/// nothing, such as tones a quarter of a period apart. Below it, a blend is refused.
inline constexpr double least_blend_correlation = -1.0e-6;

/// Correlation of the two sides that blend_loop() would mix: the mean over the channels in which
/// both sides sound; 0 where there is none. `loop` and its blend must lie inside `pcm`.
[[nodiscard]] double blend_correlation(const audio::Pcm& pcm, const LoopSpec& loop);

/// Takes the drift of a loop's octaves out in place: each has a gain that is even in dB over time,
/// 0 dB at the loop's start, on over the blend's material and held beyond, so that nothing steps
/// where the sound goes on. The octaves are parted by filters of linear phase whose sum is the
/// sound itself, with no state that a wrap could break: a frame depends on what lies within 20 ms
/// of it, mirrored where the material ends. `loop` and its blend must lie inside `pcm`.
void take_out_octave_drift(audio::Pcm& pcm, const LoopSpec& loop);

/// Takes a loop's drift of level out in place: gain over the loop and the blend's material falls
/// (or rises) by drift_db a turn, from 0 dB at the start; outside it is held. `loop` and its blend
/// must lie inside `pcm`.
void take_out_level_drift(audio::Pcm& pcm, const LoopSpec& loop);

/// Takes out a loop's drift, if it has one, of the octaves first, then blends it in place over all
/// channels with one rho, blend_correlation() of its sides once their tone is even: the last
/// crossfade_frames before range.end with those before range.start, or, at_start, the first
/// crossfade_frames of the loop with those after its end. Frame i of n stands at place (i + 1) / (n
/// + 1), so that both ends run on into original frames. Without a drift, frames outside the blend
/// stay as they are. Errors: bad_argument (range outside, crossfade longer than its material or
/// than the loop, drift over 12 dB, over six octaves; rho below least_blend_correlation: detail
/// says so), not_finite. On error nothing has changed.
[[nodiscard]] Status blend_loop(audio::Pcm& pcm, const LoopSpec& loop);

}  // namespace fourbeat::dsp
