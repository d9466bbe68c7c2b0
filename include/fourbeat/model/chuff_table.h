// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/effort.h"
#include "fourbeat/model/segment.h"

#include <string>
#include <vector>

namespace fourbeat::model {

/// The cut piece of sound of one beat, on the pass clock. Every chuff of a table begins the same
/// time (ChuffTable::lead_ms) before its beat.
struct Chuff {
  FrameRange range;
  FrameIndex beat_frame;  ///< the beat's own time
  double gain_db = 0.0;
  FrameCount fade_out_frames;
  Extra extra;
  bool operator==(const Chuff&) const = default;
};

/// One turn of the driving wheels: beats_per_rev chuffs, in order from position 0.
struct Revolution {
  Source source;
  std::vector<Chuff> chuffs;
  Extra extra;
  bool operator==(const Revolution&) const = default;
};

/// A speed band at one effort: from (inclusive) to (exclusive).
struct ChuffRow {
  Id<ChuffRow> id;
  double from_kmh = 0.0;
  double to_kmh = 0.0;
  Effort effort = Effort::easy;
  std::vector<Revolution> revolutions;  ///< played in turn
  Extra extra;
  bool operator==(const ChuffRow&) const = default;
};

/// Chuffs keyed by speed and effort.
struct ChuffTable {
  double lead_ms = 5.0;  ///< how long before its beat each chuff begins; 0 to 50
  double gain_db = 0.0;
  int priority = 90;        ///< as Sound::priority
  double importance = 2.0;  ///< as Sound::importance
  std::vector<ChuffRow> rows;
  Extra extra;
  bool operator==(const ChuffTable&) const = default;
};

}  // namespace fourbeat::model
