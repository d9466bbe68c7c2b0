// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/dsp/beat_tracker.h"

#include <cstddef>
#include <optional>
#include <span>
#include <vector>

namespace fourbeat::dsp {

/// A beat on its way through corrections.
struct HandledBeat {
  Beat beat;
  std::optional<std::size_t> stretch;  ///< of the track that it came from; none: set by hand
  bool joins_stretch = false;          ///< set by hand between beats of one stretch
};

/// Beats (ascending) as a track again. `touched`: stretches of `before` that beats came to or went
/// from; the others keep their positions. per_rev: beats a revolution, where known.
[[nodiscard]] BeatTrack regrouped(const BeatTrack& before, std::vector<HandledBeat> beats,
                                  const std::vector<bool>& touched, std::optional<int> per_rev);

/// Position 0 at each of `zeros` (indices of beats), counting on to the ends of their stretches.
/// Stretches without one turn by as much as the first of `zeros` turned, since the tracker gives
/// all stretches alike.
void set_revolutions(BeatTrack& track, std::span<const std::size_t> zeros, int per_rev);

}  // namespace fourbeat::dsp
