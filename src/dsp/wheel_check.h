// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/dsp/pass_by.h"

#include <string>

namespace fourbeat::dsp {

/// Refuses a wheel out of range; NaN too.
[[nodiscard]] inline Status check_wheel(const WheelParams& wheel) {
  const auto bad = [](const char* place, const char* detail) {
    return Error{ErrorCode::bad_argument, "", place, detail, ""};
  };
  if (wheel.beats_per_rev < 1 || wheel.beats_per_rev > 24)
    return bad("beats per revolution", "must be 1 to 24");
  if (wheel.driver_diameter_mm &&
      !(*wheel.driver_diameter_mm >= 200.0 && *wheel.driver_diameter_mm <= 4000.0))
    return bad("driver diameter", "must be 200 to 4000 mm");
  if (!(wheel.air_celsius >= -40.0 && wheel.air_celsius <= 60.0))
    return bad("air temperature", "must be -40 to 60 degrees Celsius");
  const std::vector<double>& angles = wheel.beat_angles_deg;
  if (!angles.empty() && angles.size() != static_cast<std::size_t>(wheel.beats_per_rev))
    return bad("beat angles", "give one a beat, or none");
  for (std::size_t i = 0; i < angles.size(); ++i) {
    if (!(angles[i] >= 0.0 && angles[i] < 360.0 && (i == 0 || angles[i] > angles[i - 1])))
      return bad("beat angles", "give angles that rise, 0 to below 360 degrees");
  }
  return ok();
}

}  // namespace fourbeat::dsp
