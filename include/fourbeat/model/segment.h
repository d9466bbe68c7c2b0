// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/frame.h"
#include "fourbeat/base/id.h"
#include "fourbeat/model/take.h"

#include <optional>
#include <string>
#include <variant>
#include <vector>

namespace fourbeat::model {

/// One microphone of a mix.
struct MixInput {
  Id<Take> take;
  int channel = 1;  ///< counts from 1
  double gain_db = 0.0;
  FrameCount delay_frames;  ///< how much later this channel is played; may be negative
  bool inverted = false;    ///< polarity turned over
  Extra extra;
  bool operator==(const MixInput&) const = default;
};

/// Rumble: a Butterworth high-pass.
struct HighPass {
  double cutoff_hz = 60.0;  ///< 10 to 2000
  int order = 4;            ///< 2, 4, 6 or 8
  Extra extra = {};
  bool operator==(const HighPass&) const = default;
};

/// Mains hum: a notch on the fundamental and on each of its harmonics.
struct HumNotch {
  double fundamental_hz = 50.0;  ///< 40 to 70
  int harmonics = 4;             ///< how many lines, the fundamental counted; 1 to 20
  double q = 30.0;               ///< 5 to 200
  Extra extra = {};
  bool operator==(const HumNotch&) const = default;
};

using CleanStep = std::variant<HighPass, HumNotch>;

/// What a piece of sound is made from: microphones of one pass, mixed to mono, then cleaned.
struct Source {
  Id<Pass> pass;
  std::vector<MixInput> mix;  ///< at least one
  std::vector<CleanStep> clean;
  Extra extra;
  bool operator==(const Source&) const = default;
};

enum class CrossfadeAt { end, start };

/// A loop inside a segment, on the pass clock.
struct Loop {
  FrameRange range;
  FrameCount crossfade_frames;
  CrossfadeAt crossfade_at = CrossfadeAt::end;
  /// Level of the loop's end over its start in dB, taken out by a ramp of gain when it is rendered
  /// (dsp::LoopSpec); -12 to 12.
  double drift_db = 0.0;
  /// Drift of up to six octaves beside drift_db, end over start in dB, taken out likewise
  /// (dsp::LoopSpec); each -12 to 12; empty: the tone stays.
  std::vector<double> octave_drift_db;
  Extra extra;
  bool operator==(const Loop&) const = default;
};

/// A trimmed piece of a pass. Frames are of the pass clock.
struct Segment {
  Id<Segment> id;
  std::string name;
  Source source;
  FrameRange range;
  double gain_db = 0.0;  ///< -60 to +40
  FrameCount fade_in_frames;
  FrameCount fade_out_frames;
  std::optional<Loop> loop;
  Extra extra;
  bool operator==(const Segment&) const = default;
};

struct ChuffRow;

/// What the designer decided on a loop's seam by ear. It belongs to the recipe of what was
/// heard and lapses when the recipe changes. The loop is a segment's or that of a fused row:
/// exactly one of the two is set.
enum class VerdictKind { signed_off, rejected };
struct Verdict {
  Id<Verdict> id;
  Id<Segment> segment;
  Id<ChuffRow> row;
  VerdictKind kind = VerdictKind::signed_off;
  std::string recipe;      ///< recipe_hash() of the piece when it was heard
  int sample_rate_hz = 0;  ///< rate and depth as stored by a decoder; 0: as recorded
  int bits = 0;
  std::string speaker;  ///< speaker model it was heard through; "" for none
  std::string note;
  Extra extra;
  bool operator==(const Verdict&) const = default;
};

}  // namespace fourbeat::model
