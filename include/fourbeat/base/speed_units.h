// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

/// Speeds in the units people read, real and at scale. The one place of these rules.

namespace fourbeat {

/// The international mile of 1959: 1609.344 m exactly.
inline constexpr double km_per_mile = 1.609344;

constexpr double mph_of_kmh(double speed_kmh) {
  return speed_kmh / km_per_mile;
}
constexpr double kmh_of_mph(double speed_mph) {
  return speed_mph * km_per_mile;
}
constexpr double m_s_of_kmh(double speed_kmh) {
  return speed_kmh / 3.6;
}
constexpr double kmh_of_m_s(double speed_m_s) {
  return speed_m_s * 3.6;
}

/// What a model of scale 1:ratio runs to look as fast as the real engine: lengths shrink, time does
/// not. ratio: real length over model length, > 0 (87 for H0, 76.2 for 00; NEM 010).
constexpr double model_speed_mm_s(double real_kmh, double ratio) {
  return m_s_of_kmh(real_kmh) * 1000.0 / ratio;
}
/// The real speed that a model's speed stands for.
constexpr double real_speed_kmh(double model_mm_s, double ratio) {
  return kmh_of_m_s(model_mm_s * ratio / 1000.0);
}

}  // namespace fourbeat
