// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "support/catch.h"
#include "support/temp_folder.h"
#include "work/one_take_project.h"

#include "fourbeat/model/edit.h"

#include <vector>

namespace fourbeat::tests {

inline constexpr int impulse_rate_hz = 8000;
inline constexpr std::int64_t impulse_lead_frames = 40;

/// A row of two revolutions of four chuffs, each with its impulse at its beat; `first` is the
/// take's impulse that it begins with.
inline model::ChuffRow impulse_row(double from_kmh, double to_kmh, std::int64_t first) {
  model::ChuffRow row;
  row.from_kmh = from_kmh;
  row.to_kmh = to_kmh;
  for (std::int64_t turn = 0; turn < 2; ++turn) {
    model::Revolution revolution;
    revolution.source.pass = Id<model::Pass>(2);
    revolution.source.mix.push_back({Id<model::Take>(1), 1, 0.0, {}, false, {}});
    for (std::int64_t k = 0; k < 4; ++k) {
      model::Chuff chuff;
      chuff.beat_frame = FrameIndex(1000 * (first + 4 * turn + k + 1));
      chuff.range = {chuff.beat_frame - FrameCount(impulse_lead_frames),
                     chuff.beat_frame + FrameCount(200)};
      revolution.chuffs.push_back(chuff);
    }
    row.revolutions.push_back(revolution);
  }
  return row;
}

/// A take with an impulse every 1000 frames, the nth of height (n + 1) / 64, and a row of the first
/// eight from 10 to 40 km/h. The wheel is 1 m across.
inline model::Project impulses(const TempFolder& folder, const std::vector<double>& angles_deg) {
  audio::Pcm pcm{static_cast<double>(impulse_rate_hz), {std::vector<float>(20'000, 0.0F)}};
  for (std::size_t n = 0; n < 16; ++n)
    pcm.channels[0][1000 * (n + 1)] = static_cast<float>(n + 1) / 64.0F;
  model::Project project = one_take_project(folder.path(), pcm, audio::WavDepth::s16, 0);
  project.engine.driver_diameter_mm = 1000.0;
  project.engine.beat_angles_deg = angles_deg;
  project.chuffs.lead_ms = 5.0;
  REQUIRE(
      model::apply(project, model::Add<model::ChuffRow>{impulse_row(10.0, 40.0, 0), std::nullopt}));
  return project;
}

}  // namespace fourbeat::tests
