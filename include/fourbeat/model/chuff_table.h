// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/model/effort.h"
#include "fourbeat/model/segment.h"

#include <optional>
#include <vector>

namespace fourbeat::model {

/// The cut piece of sound of one beat, on the pass clock. Every chuff of a table begins the same
/// time (ChuffTable::lead_ms) before its beat.
struct Chuff {
  FrameRange range;
  FrameIndex beat_frame;  ///< the beat's own time
  double gain_db = 0.0;
  FrameCount fade_in_frames;  ///< up to the quiet point before the attack
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

/// What the engine is doing beside its effort: each condition has rows of its own, and where it
/// has none the normal ones serve.
enum class Condition { normal, cocks_open, heavy_start, slip };

/// What a row that no recording serves is made of: a recorded row's revolutions, their tails cut
/// in Chuff::range, their level in Chuff::gain_db, their colour here.
struct Derived {
  double recorded_kmh = 0.0;        ///< the middle of the recorded row
  double tilt_db_per_octave = 0.0;  ///< applied when rendered, about 1 kHz; -6 to 6
  Extra extra;
  bool operator==(const Derived&) const = default;
};

/// The sound of beats that follow one another too fast to stand apart, as a loop.
struct FusedLoop {
  Source source;
  FrameRange range;  ///< the material, on the pass clock
  Loop loop;
  double recorded_kmh = 0.0;
  double gain_db = 0.0;
  Extra extra;
  bool operator==(const FusedLoop&) const = default;
};

/// A speed band at one effort: from (inclusive) to (exclusive).
struct ChuffRow {
  Id<ChuffRow> id;
  double from_kmh = 0.0;
  double to_kmh = 0.0;
  Effort effort = Effort::easy;
  Condition condition = Condition::normal;
  std::vector<Revolution> revolutions;  ///< played in turn
  std::optional<FusedLoop> fused;       ///< played in their place, as long as the row serves
  std::optional<Derived> derived;       ///< absent: recorded
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
