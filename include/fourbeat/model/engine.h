// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/effort.h"
#include "fourbeat/model/extra.h"

#include <optional>
#include <string>
#include <vector>

namespace fourbeat::model {

/// The engine whose sounds the set plays.
struct Engine {
  std::string name;
  double driver_diameter_mm = 1500.0;  ///< over the tread; 300 to 3000
  int beats_per_rev = 4;               ///< exhausts to the chimney a revolution; 1 to 16
  /// Where in the revolution each beat falls, ascending, 0 ≤ angle < 360; empty: even.
  std::vector<double> beat_angles_deg;
  double top_speed_kmh = 80.0;  ///< 1 to 300
  /// Real length over the model's (NEM 010: 87 for H0), 1 to 1000; none: no model is named.
  std::optional<double> scale_ratio;
  /// Where efforts part; none: as its takes are measured.
  std::optional<EffortCalibration> effort;
  Extra extra;
  bool operator==(const Engine&) const = default;
};

/// The angles in force, beats_per_rev of them: the engine's own, or even ones.
[[nodiscard]] std::vector<double> beat_angles_deg(const Engine& engine);

}  // namespace fourbeat::model
