// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/sound.h"
#include "fourbeat/model/state.h"

#include <string>
#include <vector>

namespace fourbeat::model {

enum class LayerKind {
  wheel,     ///< once at each angle of the driving wheel
  distance,  ///< once an axle at each joint of the rails
  bed        ///< a held sound, as long as the layer is in force
};

/// A level at a speed; between two of them straight in dB over speed, beyond the ends constant.
struct SpeedLevel {
  double speed_kmh = 0.0;  ///< 0 to 300, ascending
  double gain_db = 0.0;    ///< -60 (silent) to 20
  Extra extra;
  bool operator==(const SpeedLevel&) const = default;
};

/// A sound that runs with the wheel, the distance or a state beside the chuffs.
struct Layer {
  Id<Layer> id;
  std::string name;
  LayerKind kind = LayerKind::bed;
  std::vector<Id<Sound>> sounds;   ///< played in turn; a bed plays the first
  std::vector<double> angles_deg;  ///< of wheel: ascending, 0 ≤ angle < 360
  double joint_m = 0.0;            ///< of distance: real metres between joints, 1 to 1000
  std::vector<double> axles_m;  ///< of distance: axles behind the first, ascending from 0, to 200
  double from_kmh = 0.0;        ///< in force from this speed
  double to_kmh = 300.0;        ///< to below this one
  double first_turns = 0.0;     ///< and so many turns after rest; 0: for ever
  double drifting_db = 0.0;     ///< by effort; -60 (silent) to 20
  double easy_db = 0.0;
  double hard_db = 0.0;
  std::vector<SpeedLevel> levels;  ///< by speed; empty: 0 dB
  double gain_db = 0.0;            ///< -60 to 20
  double fade_s = 0.2;             ///< of a bed: in and out; 0.01 to 30
  When when;
  Extra extra;
  bool operator==(const Layer&) const = default;
};

}  // namespace fourbeat::model
