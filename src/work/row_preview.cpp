// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/work/row_preview.h"

#include "chuff_stock.h"
#include "full_scale.h"

#include "fourbeat/base/wheel.h"

#include <fmt/format.h>

#include <cmath>

namespace fourbeat::work {

Result<RowPreview> preview_row(const model::Project& project,
                               const std::filesystem::path& project_folder, Id<model::ChuffRow> id,
                               double speed_kmh, double seconds, JobControl& job) {
  const model::ChuffRow* row = model::find(project, id);
  if (row == nullptr) {
    return Error{ErrorCode::not_found, {}, {}, fmt::format("no chuff row {}", id.value()), {}};
  }
  if (!(speed_kmh >= 0.1) || speed_kmh > 1000.0) {
    return Error{ErrorCode::bad_argument, {}, {}, fmt::format("{} km/h", speed_kmh), {}};
  }
  if (!(seconds > 0.0) || seconds > 600.0) {
    return Error{ErrorCode::bad_argument, {}, {}, fmt::format("{} s", seconds), {}};
  }
  if (row->revolutions.empty() && !row->fused) {
    return Error{ErrorCode::too_short, {}, {}, "the row holds no revolution", "build the table"};
  }
  const Result<ChuffStock> stock = ChuffStock::render(project, project_folder, id, job);
  if (!stock) return stock.error();
  const double rate = stock->sample_rate_hz();
  const std::vector<double> angles = model::beat_angles_deg(project.engine);
  const double turn_frames =
      beat_interval_s(speed_kmh, project.engine.driver_diameter_mm, 1.0) * rate;
  const auto length = static_cast<std::int64_t>(std::llround(seconds * rate));
  RowPreview preview;
  preview.clip.sample_rate_hz = rate;
  preview.clip.samples.assign(static_cast<std::size_t>(length), 0.0F);
  for (std::int64_t turn = 0; static_cast<double>(turn) * turn_frames < static_cast<double>(length);
       ++turn) {
    for (std::size_t k = 0; k < angles.size(); ++k) {
      const std::int64_t beat =
          frame_of_beat(static_cast<double>(stock->lead_frames()) +
                        (static_cast<double>(turn) + angles[k] / 360.0) * turn_frames);
      if (beat >= length) break;
      if (stock->is_fused(id) || stock->play(preview.clip.samples, beat, id, turn, k)) {
        preview.beats.emplace_back(beat);
      }
    }
  }
  if (stock->is_fused(id)) {
    if (const Status played = stock->play_loop(preview.clip.samples, 0, length, id); !played) {
      return played.error();
    }
  }
  preview.turned_db = hold_to_full_scale(preview.clip).db;
  return preview;
}

double middle_speed_kmh(const model::ChuffRow& row) {
  return row.from_kmh > 0.0 ? std::sqrt(row.from_kmh * row.to_kmh) : 0.5 * row.to_kmh;
}

}  // namespace fourbeat::work
