// SPDX-License-Identifier: GPL-3.0-or-later
#include "layer_board.h"

#include "fourbeat/base/decibels.h"
#include "fourbeat/base/wheel.h"

#include <algorithm>
#include <limits>

namespace fourbeat::drive {

namespace {

constexpr double silent_db = -60.0;

double level_at(const std::vector<model::SpeedLevel>& levels, double speed_kmh) noexcept {
  if (levels.empty()) return 0.0;
  if (speed_kmh <= levels.front().speed_kmh) return levels.front().gain_db;
  for (std::size_t i = 1; i < levels.size(); ++i) {
    const model::SpeedLevel& low = levels[i - 1];
    const model::SpeedLevel& high = levels[i];
    if (speed_kmh > high.speed_kmh) continue;
    const double share = (speed_kmh - low.speed_kmh) / (high.speed_kmh - low.speed_kmh);
    return low.gain_db + share * (high.gain_db - low.gain_db);
  }
  return levels.back().gain_db;
}

/// Any part at or below silent_db silences the whole.
float loudness_of(const ImageLayer& layer, const Situation& now, double tuned_db) noexcept {
  const double effort_db = layer.effort_db[static_cast<std::size_t>(now.effort)];
  const double speed_db = level_at(layer.levels, now.speed_kmh);
  if (std::min({effort_db, speed_db, tuned_db}) <= silent_db) return 0.0F;
  return static_cast<float>(gain_of_db(effort_db + speed_db + tuned_db));
}

}  // namespace

LayerBoard::LayerBoard(const CompiledSet& set, const WheelClock& wheel)
    : set_(set),
      wheel_(wheel),
      circumference_m_(wheel_circumference_m(set.engine.driver_diameter_mm)),
      runs_(set.layers.size()) {
  for (std::size_t i = 0; i < runs_.size(); ++i) {
    const ImageLayer& layer = set.layers[i];
    if (layer.places.empty() || layer.places.front() != 0.0) continue;
    runs_[i].place = 1;  // standing on it is not reaching it
    if (layer.places.size() == 1) runs_[i] = {.cycle = 1};
  }
}

void LayerBoard::find(const ImageLayer& layer, Run& run) noexcept {
  run.due = none;
  if (layer.places.empty()) return;
  const double place = layer.places[run.place];
  const auto cycle = static_cast<double>(run.cycle);
  const auto at =
      layer.kind == model::LayerKind::wheel
          ? wheel_.moment_of(run.cycle, place, grid_)
          : wheel_.moment_of_way((cycle + place) * layer.cycle_m / circumference_m_, grid_);
  if (at) run.due = std::max(at->nearest_frame(), grid_);
}

void LayerBoard::update(const LayerScene& scene, const Tuning& tuning, const CvBank& cvs,
                        SoundPlayer& player) noexcept {
  const Situation& now = scene.now;
  grid_ = now.frame;
  for (std::size_t i = 0; i < runs_.size(); ++i) {
    const ImageLayer& layer = set_.layers[i];
    Run& run = runs_[i];
    run.level = loudness_of(layer, now, tuning.layer_gain_db[i]);
    const bool on = scene.audible && now.speed_kmh >= layer.from_kmh &&
                    now.speed_kmh < layer.to_kmh &&
                    (layer.first_turns == 0.0 || now.turns_since_rest < layer.first_turns) &&
                    in_force(layer.when, scene.state, scene.own_states, cvs) && run.level > 0.0F;
    if (layer.kind != model::LayerKind::bed) {
      run.on = on;
      find(layer, run);
      continue;
    }
    if (layer.uses.empty()) continue;
    const int use = layer.uses.front();
    if (on && !player.is_on(use)) {
      player.start(now.frame, use, Fade{layer.fade_frames, 0, 1.0F});
    } else if (!on && run.on) {
      player.fade_out(now.frame, use, Fade{layer.fade_frames, 0, 1.0F});
    }
    run.on = on;
  }
}

void LayerBoard::sound(std::int64_t frame, SoundPlayer& player) noexcept {
  for (std::size_t i = 0; i < runs_.size(); ++i) {
    const ImageLayer& layer = set_.layers[i];
    Run& run = runs_[i];
    while (run.due != none && run.due <= frame) {
      if (run.on && !layer.uses.empty()) {
        player.start(frame, layer.uses[run.turn % layer.uses.size()]);
        ++run.turn;
      }
      if (++run.place == layer.places.size()) {
        run.place = 0;
        ++run.cycle;
      }
      find(layer, run);
    }
  }
}

std::int64_t LayerBoard::next_frame() const noexcept {
  std::int64_t next = std::numeric_limits<std::int64_t>::max();
  for (const Run& run : runs_) {
    if (run.due != none) next = std::min(next, run.due);
  }
  return next;
}

}  // namespace fourbeat::drive
