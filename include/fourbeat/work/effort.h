// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/dsp/beat_sound.h"
#include "fourbeat/dsp/speed.h"
#include "fourbeat/model/effort.h"
#include "fourbeat/model/take.h"

#include <optional>
#include <span>
#include <vector>

namespace fourbeat::work {

/// What tells the effort of one beat; what cannot be had is none.
struct EffortSign {
  FrameIndex frame;
  std::optional<dsp::BeatSound> sound;
  std::optional<double> acceleration_m_s2;
  std::optional<double> acceleration_sd_m_s2;
};

/// The effort of each beat. Each measure that the calibration gives figures for speaks between -1
/// (drifting) and +1 (hard), ±0.5 at its figures and in line between and beyond; an acceleration
/// speaks the less, the wider its uncertainty against the distance of its figures. Their mean over
/// the beats of half a revolution either side is drifting below -0.5, hard from +0.5. Without any
/// measure: easy. hand_set: marks of kind effort; the last of those over a beat wins. Other kinds
/// are left alone.
[[nodiscard]] std::vector<model::Effort> judge_efforts(std::span<const EffortSign> beats,
                                                       int beats_per_rev,
                                                       const model::EffortCalibration& calibration,
                                                       std::span<const model::Mark> hand_set);

/// Figures for loudness and length of beats as the beats themselves suggest: where they fall into
/// three groups (natural breaks: Fisher, J. Am. Stat. Assoc. 53, 1958) that explain at least 0.9
/// of the variance (one bell-shaped heap gives 0.81, an even spread 0.89), each of at least 5 % of
/// 60 beats or more, halfway between neighbouring groups. Loudness may have groups where length has
/// none, and the other way round. `from`: what is kept for the rest.
[[nodiscard]] model::EffortCalibration measure_calibration(
    std::span<const EffortSign> beats, const model::EffortCalibration& from = {});

/// Figures to begin with where a measure is to count and no take has suggested any: invented, to be
/// set by ear.
[[nodiscard]] model::EffortCalibration starting_calibration();

}  // namespace fourbeat::work
