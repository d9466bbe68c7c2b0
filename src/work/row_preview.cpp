// SPDX-License-Identifier: GPL-3.0-or-later
#include "fourbeat/work/row_preview.h"

#include "fourbeat/audio/resample.h"
#include "fourbeat/base/decibels.h"
#include "fourbeat/base/wheel.h"
#include "fourbeat/model/piece.h"
#include "fourbeat/work/render.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace fourbeat::work {

namespace {

/// One chuff, rendered at the preview's rate.
struct Rendered {
  std::vector<float> samples;
  std::int64_t lead_frames = 0;  ///< from its first sample to its beat
  int turn = 0;
  int position = 0;
};

}  // namespace

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
  if (row->revolutions.empty()) {
    return Error{ErrorCode::too_short, {}, {}, "the row holds no revolution", "build the table"};
  }
  Renderer renderer(project, project_folder);
  std::vector<Rendered> chuffs;
  double rate = 0.0;
  double gain_db = 0.0;
  for (const model::Piece& piece : model::list_pieces(project)) {
    if (piece.key.row != id) continue;
    if (job.cancelled()) return Error{ErrorCode::cancelled, {}, {}, {}, {}};
    Result<audio::Clip> clip = renderer.render(piece);
    if (!clip) return clip.error();
    if (rate == 0.0) rate = clip->sample_rate_hz;
    const model::Chuff& chuff = row->revolutions[static_cast<std::size_t>(piece.key.revolution)]
                                    .chuffs[static_cast<std::size_t>(piece.key.position)];
    Rendered one;
    one.turn = piece.key.revolution;
    one.position = piece.key.position;
    one.lead_frames =
        std::llround(static_cast<double>((chuff.beat_frame - chuff.range.start).value()) * rate /
                     clip->sample_rate_hz);
    Result<std::vector<float>> samples = audio::resample(clip->samples, clip->sample_rate_hz, rate);
    if (!samples) return samples.error();
    one.samples = std::move(*samples);
    chuffs.push_back(std::move(one));
    gain_db = piece.playback_db;
  }
  if (chuffs.empty()) {
    return Error{ErrorCode::too_short, {}, {}, "the row holds no chuff", "build the table"};
  }
  std::int64_t lead_frames = 0;
  for (const Rendered& chuff : chuffs)
    lead_frames = std::max(lead_frames, chuff.lead_frames);
  const std::vector<double> angles = model::beat_angles_deg(project.engine);
  const double turn_frames =
      beat_interval_s(speed_kmh, project.engine.driver_diameter_mm, 1.0) * rate;
  const auto length = static_cast<std::int64_t>(std::llround(seconds * rate));
  const auto turns = static_cast<int>(row->revolutions.size());
  const auto gain = static_cast<float>(gain_of_db(gain_db));

  RowPreview preview;
  preview.clip.sample_rate_hz = rate;
  preview.clip.samples.assign(static_cast<std::size_t>(length), 0.0F);
  for (std::int64_t turn = 0; static_cast<double>(turn) * turn_frames < static_cast<double>(length);
       ++turn) {
    for (std::size_t k = 0; k < angles.size(); ++k) {
      const std::int64_t beat =
          std::llround(static_cast<double>(lead_frames) +
                       (static_cast<double>(turn) + angles[k] / 360.0) * turn_frames);
      if (beat >= length) break;
      const auto played = std::find_if(chuffs.begin(), chuffs.end(), [&](const Rendered& chuff) {
        return chuff.turn == static_cast<int>(turn % turns) &&
               chuff.position == static_cast<int>(k);
      });
      if (played == chuffs.end()) continue;
      preview.beats.emplace_back(beat);
      const std::int64_t start = beat - played->lead_frames;
      const std::int64_t end =
          std::min(length, start + static_cast<std::int64_t>(played->samples.size()));
      for (std::int64_t i = std::max<std::int64_t>(start, 0); i < end; ++i) {
        preview.clip.samples[static_cast<std::size_t>(i)] +=
            gain * played->samples[static_cast<std::size_t>(i - start)];
      }
    }
  }
  return preview;
}

double middle_speed_kmh(const model::ChuffRow& row) {
  return row.from_kmh > 0.0 ? std::sqrt(row.from_kmh * row.to_kmh) : 0.5 * row.to_kmh;
}

}  // namespace fourbeat::work
