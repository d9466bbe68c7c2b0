// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

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

}  // namespace fourbeat
