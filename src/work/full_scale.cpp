// SPDX-License-Identifier: GPL-3.0-or-later
#include "full_scale.h"

#include "fourbeat/base/decibels.h"

#include <algorithm>
#include <cmath>

namespace fourbeat::work {

TurnedDown hold_to_full_scale(audio::Clip& clip) {
  constexpr double highest_db = -1.0;
  TurnedDown turned;
  for (const float sample : clip.samples)
    turned.peak = std::max(turned.peak, std::abs(static_cast<double>(sample)));
  if (turned.peak <= 1.0) return turned;
  turned.db = highest_db - *db_of_amplitude(turned.peak);
  const auto gain = static_cast<float>(gain_of_db(turned.db));
  for (float& sample : clip.samples)
    sample *= gain;
  return turned;
}

}  // namespace fourbeat::work
