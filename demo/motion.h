// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/engine.h"

#include <cstdint>
#include <span>
#include <vector>

/// How the engine moves in a take, and where its wheels then are.

namespace fourbeat::demo {

/// A value that the take passes through: speed in km/h, or effort from 0 (drifting) to 1 (hard).
struct Knot {
  double time_s = 0.0;
  double value = 0.0;
};

/// The smooth curve through knots ascending in time (monotone cubic, Fritsch and Carlson 1980);
/// level before the first and after the last.
[[nodiscard]] std::vector<double> curve(std::span<const Knot> knots, std::int64_t frames);

/// Something that happens at an angle of the driving wheel.
struct WheelMoment {
  double frame = 0.0;  ///< between frames where it falls so
  int position = 0;    ///< which of the angles
  double speed_kmh = 0.0;
};

/// Every passing of one of `angles_deg` (ascending, from 0 below 360), ascending in time.
[[nodiscard]] std::vector<WheelMoment> moments(const std::vector<double>& speed_kmh,
                                               const model::Engine& engine,
                                               std::span<const double> angles_deg);

/// Turns of the wheel, or of the road by another length, at each frame.
[[nodiscard]] std::vector<double> turns_run(const std::vector<double>& speed_kmh,
                                            double metres_per_turn);

}  // namespace fourbeat::demo
