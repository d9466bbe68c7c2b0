// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/pcm.h"
#include "fourbeat/base/job_control.h"
#include "fourbeat/base/result.h"
#include "fourbeat/model/project.h"

#include <filesystem>
#include <vector>

namespace fourbeat::work {

/// A row of the chuff table as it sounds at one steady speed.
struct RowPreview {
  audio::Clip clip;
  std::vector<FrameIndex> beats;  ///< where each beat falls in the clip, ascending
  double turned_db = 0.0;         ///< what the clip was turned by: 0, or negative
};

/// Renders a row at a speed: the row's revolutions in turn, each chuff so that its beat falls at
/// the engine's angle for it, at the rate of the first revolution's take, with the table's gain.
/// Beat k of turn r is at round((lead + (r + angle_k / 360) × turn) × rate), turn the time of one
/// turn of the wheel and lead the time that the row's earliest chuff needs before its beat.
/// Chuffs run into one another where they are long, and add up: a clip that would go over full
/// scale is turned down as a whole, its peak to -1 dB. A fused row plays its loop.
/// Errors: not_found (row), too_short (no revolution), bad_argument (speed outside 0.1 to 1000
/// km/h, seconds outside 0 to 600), cancelled, those of Renderer and resample.
[[nodiscard]] Result<RowPreview> preview_row(const model::Project& project,
                                             const std::filesystem::path& project_folder,
                                             Id<model::ChuffRow> row, double speed_kmh,
                                             double seconds, JobControl& job);

/// The speed in the middle of a row, by ratio where it does not reach down to rest.
[[nodiscard]] double middle_speed_kmh(const model::ChuffRow& row);

}  // namespace fourbeat::work
