// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/pcm.h"

namespace fourbeat::work {

struct TurnedDown {
  double peak = 0.0;  ///< of full scale, before
  double db = 0.0;    ///< what the clip was turned by: 0, or negative
};

/// Turns a clip down as a whole, its peak to -1 dB, where overlapping chuffs add up to more than
/// full scale.
TurnedDown hold_to_full_scale(audio::Clip& clip);

}  // namespace fourbeat::work
