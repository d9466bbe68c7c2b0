// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/chuff_table.h"
#include "fourbeat/model/take.h"

#include <cstdint>
#include <string>
#include <vector>

namespace fourbeat::work {

/// How good a revolution is for a row, measure by measure. The bounds by which each measure lowers
/// the total stand in docs/chuffs.md; they are common practice, no source.
struct RevolutionQuality {
  double signal_db = 0.0;  ///< peak of the chuffs over what sounds between them, mean of all
  double end_db = 0.0;     ///< level at the end of the chuffs against their peak, mean; below 0
  double accent_db = 0.0;  ///< RMS difference of the levels inside the turn from the usual pattern
  double evenness_deg = 0.0;           ///< RMS difference of the beats' angles from the usual ones
  double off_middle = 0.0;             ///< 0 in the row's middle (by ratio) to 1 at its bounds
  double oddity_db = 0.0;              ///< an octave's largest departure from the turns around it
  std::int64_t flat_tops = 0;          ///< clipped tops in its chuffs
  double beat_confidence = 1.0;        ///< of its least sure beat, 0 to 1
  std::vector<model::MarkKind> marks;  ///< that name something else sounding over it, each once
  double total = 0.0;                  ///< 0 to 1, higher is better
  std::string reason;  ///< what lowers the total most, in a few words; "" where nothing does
};

/// One revolution that a row could play.
struct RevolutionCandidate {
  Id<model::Take> take;
  FrameIndex first_beat;  ///< of its beat at position 0, in the take's frames
  double speed_kmh = 0.0;
  RevolutionQuality quality;
  model::Revolution revolution;  ///< as it is cut for the row
};

/// What a row could be made of.
struct RowCandidates {
  std::size_t row = 0;                          ///< index into the table's rows
  std::vector<RevolutionCandidate> candidates;  ///< best first; the row's own revolutions lead
};

}  // namespace fourbeat::work
