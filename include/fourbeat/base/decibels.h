// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include <cmath>
#include <optional>

namespace fourbeat {

/// Gain in dB of an amplitude ratio, and back.
[[nodiscard]] inline double gain_of_db(double gain_db) {
  return std::pow(10.0, gain_db / 20.0);
}

/// dB of an amplitude, or of a power; nothing for zero, negative or non-finite input: no figure
/// in Fourbeat is ever minus infinity.
[[nodiscard]] inline std::optional<double> db_of_amplitude(double amplitude) {
  if (!(amplitude > 0.0) || !std::isfinite(amplitude)) return std::nullopt;
  return 20.0 * std::log10(amplitude);
}
[[nodiscard]] inline std::optional<double> db_of_power(double power) {
  if (!(power > 0.0) || !std::isfinite(power)) return std::nullopt;
  return 10.0 * std::log10(power);
}

}  // namespace fourbeat
