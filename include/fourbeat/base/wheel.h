// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <algorithm>
#include <cmath>
#include <cstdint>
#include <numbers>

/// Beats and the wheel: an engine gives n beats a turn of a driving wheel of diameter D, so the
/// mean interval between beats at speed v is pi × D / (n × v). The one place of this rule.

namespace fourbeat {

/// Distance covered in one turn, in metres.
constexpr double wheel_circumference_m(double driver_diameter_mm) {
  return std::numbers::pi * driver_diameter_mm / 1000.0;
}

/// Turns a minute at a speed.
constexpr double wheel_rpm(double speed_kmh, double driver_diameter_mm) {
  return speed_kmh * (1000.0 / 60.0) / wheel_circumference_m(driver_diameter_mm);
}

/// Mean seconds between beats at a speed; all arguments > 0.
constexpr double beat_interval_s(double speed_kmh, double driver_diameter_mm,
                                 double beats_per_rev) {
  return wheel_circumference_m(driver_diameter_mm) * 3.6 / (beats_per_rev * speed_kmh);
}

/// Speed at a mean interval between beats; all arguments > 0.
constexpr double beat_speed_kmh(double interval_s, double driver_diameter_mm,
                                double beats_per_rev) {
  return wheel_circumference_m(driver_diameter_mm) * 3.6 / (beats_per_rev * interval_s);
}

/// The time a wheel needs for `way` turns (≥ 0) from `speed` turns a unit of time, gaining `slope`
/// turns a unit squared: the root of way = speed t + slope t² / 2 that does not lose digits when
/// the slope is small. Where it never gets there: the time at which it stands still.
inline double time_of_turns(double way, double speed, double slope) {
  if (way <= 0.0) return 0.0;
  return 2.0 * way / (speed + std::sqrt(std::max(0.0, speed * speed + 2.0 * slope * way)));
}

/// The frame of a beat that falls at a time, in frames, not whole: the nearest one. Drive, the
/// preview of a row and the sweep of the table all place beats so.
inline std::int64_t frame_of_beat(double time_frames) {
  return std::llround(time_frames);
}

}  // namespace fourbeat
