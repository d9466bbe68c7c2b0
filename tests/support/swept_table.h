// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "support/catch.h"

#include "fourbeat/drive/row_choice.h"
#include "fourbeat/model/piece.h"
#include "fourbeat/work/render.h"
#include "fourbeat/work/sweep.h"

#include <algorithm>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <map>
#include <numbers>
#include <utility>
#include <vector>

namespace fourbeat::tests {

/// A beat of a sweep as the closed form has it.
struct ClosedFormBeat {
  double time_s = 0.0;
  double speed_kmh = 0.0;
  std::int64_t turn = 0;
  std::size_t position = 0;
};

/// The way s a wheel has rolled at a beat; up: s = a t² / 2, at the top: s = s0 + v t, down:
/// s = s1 + v t - a t² / 2, each solved for t by hand.
inline std::vector<ClosedFormBeat> closed_form_sweep(const model::Engine& engine,
                                                     const work::SweepParams& params) {
  const std::vector<double> angles_deg = model::beat_angles_deg(engine);
  const double v = engine.top_speed_kmh / 3.6;
  const double circumference_m = std::numbers::pi * engine.driver_diameter_mm / 1000.0;
  const double up_m = 0.5 * v * params.seconds_up;
  const double top_m = v * params.seconds_at_top;
  const double down_m = 0.5 * v * params.seconds_down;
  std::vector<ClosedFormBeat> beats;
  for (std::int64_t turn = 0;; ++turn) {
    for (std::size_t k = 0; k < angles_deg.size(); ++k) {
      const double s = circumference_m * (static_cast<double>(turn) + angles_deg[k] / 360.0);
      if (s == 0.0) continue;
      if (s > up_m + top_m + down_m) return beats;
      double t = 0.0;
      double speed = v;
      if (s <= up_m) {
        t = std::sqrt(2.0 * s * params.seconds_up / v);
        speed = v * t / params.seconds_up;
      } else if (s <= up_m + top_m) {
        t = params.seconds_up + (s - up_m) / v;
      } else {
        const double left_m = up_m + top_m + down_m - s;
        const double before_end = std::sqrt(2.0 * left_m * params.seconds_down / v);
        t = params.seconds_up + params.seconds_at_top + params.seconds_down - before_end;
        speed = v * before_end / params.seconds_down;
      }
      beats.push_back({t, speed * 3.6, turn, k});
    }
  }
}

/// A swept table against chuffs rendered one by one and laid down by the closed form.
struct SweptTable {
  std::size_t beats = 0;
  std::size_t changes = 0;
  std::size_t wrong_frames = 0;     ///< beats that are not on the closed form's frame
  std::size_t wrong_positions = 0;  ///< or not at its place of the revolution
  double peak = 0.0;                ///< of what was compared
  double worst = 0.0;               ///< greatest difference from chuffs on the closed form's frames
  double worst_if_late = 0.0;       ///< and, on the way up, from the same a frame late
};

/// Where loops play nothing is compared. The table must hold a chuff for every place.
inline SweptTable sweep_against_closed_form(const model::Project& project,
                                            const std::filesystem::path& folder) {
  const work::SweepParams params;
  JobControl job;
  const auto sweep = work::sweep_table(project, folder, params, job);
  REQUIRE(sweep);
  const double rate = sweep->clip.sample_rate_hz;
  struct Chuff {
    audio::Clip clip;
    std::int64_t lead_frames = 0;
  };
  std::map<std::pair<Id<model::ChuffRow>, int>, std::map<std::size_t, Chuff>> chuffs;
  std::int64_t lead_frames = 0;
  work::Renderer renderer(project, folder);
  for (const model::Piece& piece : model::list_pieces(project)) {
    if (!piece.key.row.is_set() || piece.key.revolution == model::fused_revolution) continue;
    const auto place = static_cast<std::size_t>(piece.key.position);
    const model::ChuffRow& row = *model::find(project, piece.key.row);
    const model::Chuff& cut =
        row.revolutions[static_cast<std::size_t>(piece.key.revolution)].chuffs[place];
    auto clip = renderer.render(piece);
    REQUIRE(clip);
    REQUIRE(clip->sample_rate_hz == rate);
    const std::int64_t lead = (cut.beat_frame - cut.range.start).value();
    lead_frames = std::max(lead_frames, lead);
    chuffs[{piece.key.row, piece.key.revolution}][place] = {std::move(*clip), lead};
  }
  SweptTable result;
  result.beats = sweep->beats.size();
  result.changes = sweep->changes.size();
  const std::vector<ClosedFormBeat> expected = closed_form_sweep(project.engine, params);
  REQUIRE(expected.size() == sweep->beats.size());
  const double gain = std::pow(10.0, (project.chuffs.gain_db + sweep->turned_db) / 20.0);
  std::vector<double> stem(sweep->clip.samples.size(), 0.0);
  std::vector<double> late(stem.size(), 0.0);
  std::vector<bool> compared(stem.size(), true);
  const auto lay_down = [&](std::vector<double>& into, const Chuff& chuff, std::int64_t frame) {
    for (std::size_t i = 0; i < chuff.clip.samples.size(); ++i) {
      const std::int64_t at = frame - chuff.lead_frames + static_cast<std::int64_t>(i);
      if (at >= 0 && std::cmp_less(at, into.size()))
        into[static_cast<std::size_t>(at)] += gain * static_cast<double>(chuff.clip.samples[i]);
    }
  };
  const auto no_comparison = [&](std::int64_t from, std::int64_t to) {
    const auto size = static_cast<std::int64_t>(compared.size());
    for (std::int64_t i = std::max<std::int64_t>(0, from); i < std::min(size, to); ++i)
      compared[static_cast<std::size_t>(i)] = false;
  };
  for (std::size_t i = 0; i < expected.size(); ++i) {
    const work::SweepBeat& beat = sweep->beats[i];
    const std::int64_t frame =
        std::llround(static_cast<double>(lead_frames) + expected[i].time_s * rate);
    if (beat.frame.value() != frame) ++result.wrong_frames;
    if (std::cmp_not_equal(beat.position, expected[i].position)) ++result.wrong_positions;
    const model::ChuffRow& row = *model::find(project, beat.row);
    if (row.fused) {
      const std::int64_t until = i + 1 < expected.size() ? sweep->beats[i + 1].frame.value()
                                                         : static_cast<std::int64_t>(stem.size());
      no_comparison(frame, until + std::llround(drive::fused_fade_s * rate) + 1);
      continue;
    }
    const auto count = static_cast<std::int64_t>(row.revolutions.size());
    const int revolution = static_cast<int>(expected[i].turn % count);
    const Chuff& chuff = chuffs.at({beat.row, revolution}).at(expected[i].position);
    lay_down(stem, chuff, frame);
    lay_down(late, chuff, frame + (expected[i].time_s < params.seconds_up ? 1 : 0));
  }
  for (std::size_t i = 0; i < stem.size(); ++i) {
    if (!compared[i]) continue;
    const auto heard = static_cast<double>(sweep->clip.samples[i]);
    result.peak = std::max(result.peak, std::fabs(heard));
    result.worst = std::max(result.worst, std::fabs(heard - stem[i]));
    result.worst_if_late = std::max(result.worst_if_late, std::fabs(heard - late[i]));
  }
  return result;
}

/// The sweep's promise, for a table of a real engine.
inline void check_swept(const SweptTable& swept) {
  CHECK(swept.beats > 100);
  CHECK(swept.changes >= 4);
  CHECK(swept.wrong_frames == 0);
  CHECK(swept.wrong_positions == 0);
  // Float against double sums of what sounds at once.
  CHECK(swept.worst < 1e-5 * swept.peak);
  CHECK(swept.worst_if_late > 0.01 * swept.peak);
}

}  // namespace fourbeat::tests
