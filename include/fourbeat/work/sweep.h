// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/pcm.h"
#include "fourbeat/base/job_control.h"
#include "fourbeat/base/result.h"
#include "fourbeat/model/project.h"

#include <filesystem>
#include <vector>

namespace fourbeat::work {

/// How a sweep is driven: from rest to top speed with constant acceleration, a while there, and
/// back to rest with constant deceleration.
struct SweepParams {
  double seconds_up = 20.0;     ///< 1 to 300
  double seconds_at_top = 2.0;  ///< 0 to 60
  double seconds_down = 20.0;   ///< 1 to 300
  model::Effort up = model::Effort::hard;
  model::Effort at_top = model::Effort::easy;
  model::Effort down = model::Effort::drifting;
  double load = 0.0;  ///< 0 to 1: which rows of starting conditions serve
};

/// A beat of a sweep.
struct SweepBeat {
  FrameIndex frame;
  double speed_kmh = 0.0;
  int position = 0;
  Id<model::ChuffRow> row;  ///< that plays it
  bool operator==(const SweepBeat&) const = default;
};

/// The whole chuff table as it sounds.
struct Sweep {
  audio::Clip clip;
  std::vector<SweepBeat> beats;      ///< ascending
  std::vector<std::size_t> changes;  ///< beats at which another row takes over, the first left out
  double peak = 0.0;                 ///< of full scale, before it was turned down
  double turned_db = 0.0;            ///< what the clip was turned by: 0, or negative
};

/// Plays the table by the rules of drive (docs/drive.md, sections 3 and 6), at the rate of the
/// first chuff's take, without a decoder: chuffs run into one another where they are long.
/// Chuffs that overlap add up: a sweep that would go over full scale is turned down as a whole, its
/// peak to -1 dB.
/// The wheel stands at angle 0 before the first frame; the beat at angle_k of turn r falls at frame
/// round(lead + t × rate), t the time at which the wheel has made r + angle_k / 360 turns and lead
/// the time that the earliest chuff needs before its beat.
/// Errors: too_short (no chuff), bad_argument (params), cancelled, those of Renderer and resample.
[[nodiscard]] Result<Sweep> sweep_table(const model::Project& project,
                                        const std::filesystem::path& project_folder,
                                        const SweepParams& params, JobControl& job);

}  // namespace fourbeat::work
