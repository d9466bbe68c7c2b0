// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/dsp/beat_tracker.h"

#include <cstddef>
#include <span>
#include <vector>

namespace fourbeat::dsp {

/// A beat and how far the wheel has turned there, counted in beats.
struct TurnedBeat {
  std::size_t beat = 0;  ///< of the track
  double time_s = 0.0;
  double turned = 0.0;  ///< beats since place 0 of the stretch's first revolution
  int place = 0;  ///< in the revolution; relative to the first beat where no position is known
  double level_db = 0.0;  ///< against the stretch's loudest beat
  bool heard = true;      ///< false: filled in by the tracker, says nothing by itself
};

/// Counts the wheel's turning over the beats of one stretch. An interval twice or more as long as
/// those around it holds beats that nobody heard; two that together are as long as one hold a beat
/// that is none, which is left out. angles_deg: where each place's beat falls, or empty: evenly.
[[nodiscard]] std::vector<TurnedBeat> turned_beats(const BeatTrack& track,
                                                   const BeatStretch& stretch, int beats_per_rev,
                                                   std::span<const double> angles_deg);

/// Beats [first, first + count) of the track that lie in a stretch.
struct BeatSpan {
  std::size_t first = 0;
  std::size_t count = 0;
};
[[nodiscard]] BeatSpan beats_in(const BeatTrack& track, const FrameRange& range);

}  // namespace fourbeat::dsp
