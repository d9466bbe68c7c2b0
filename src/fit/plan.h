// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/fit/encode.h"

#include <cstdint>
#include <vector>

namespace fourbeat::fit {

/// How a clip is brought to another rate; known before a sample is touched.
struct ResamplePlan {
  double ratio = 1.0;            ///< output frames a source frame, exactly as used
  double to_hz = 0.0;            ///< source rate × ratio: the rate that is asked of the resampler
  std::int64_t frames = 0;       ///< of the result
  std::int64_t loop_start = 0;   ///< in the result; 0 without a loop
  std::int64_t loop_frames = 0;  ///< in the result; 0 without a loop
  int loop_turns = 1;            ///< turns of the source's loop that the result's loop holds
};

/// Plans it: without a loop round(frames × ratio) frames; with one, the least number of turns
/// whose length, rounded to what the rules allow, changes the pitch by at most 5 cents.
/// Errors: bad_argument (rate of the source outside 1 Hz … 1 MHz, loop outside the clip, rules
/// below 1), too_short (a loop that 4096 turns do not bring within the rules).
[[nodiscard]] Result<ResamplePlan> plan_resampling(const audio::Clip& source, int sample_rate_hz,
                                                   const model::LoopRules& rules);

/// The samples of a clip at its new rate, not yet rounded: plan.frames of them. The loop is taken
/// where the resampling filter sees nothing but its own turns, so its wrap is as smooth as its
/// inside. What lies behind the loop's end is never heard and is left out.
/// Errors: those of audio::resample().
[[nodiscard]] Result<std::vector<float>> resample_clip(const audio::Clip& source,
                                                       const ResamplePlan& plan);

/// Rounds planned samples to a depth: see encode().
[[nodiscard]] EncodedClip quantise(const std::vector<float>& samples, const ResamplePlan& plan,
                                   Encoding encoding, bool has_playback_gain, std::uint64_t seed);

/// A clip as it sounds: samples up to the loop's end, then turn after turn until `frames` are
/// there. Without a loop: the samples, then silence.
[[nodiscard]] std::vector<float> played(const audio::Clip& clip, std::int64_t frames);

/// More frames than the resampling filter reaches to either side, at the lower of two rates.
inline constexpr std::int64_t filter_reach_frames = 2048;

}  // namespace fourbeat::fit
