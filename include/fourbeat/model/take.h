// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/frame.h"
#include "fourbeat/base/id.h"
#include "fourbeat/model/effort.h"
#include "fourbeat/model/extra.h"

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

namespace fourbeat::model {

/// One field recording file. Nothing ever writes to it.
struct Take {
  Id<Take> id;
  std::string path;  ///< relative to the project's folder, '/' between names, UTF-8
  std::int64_t size_bytes = 0;
  std::string sha256;  ///< 64 lower-case hexadecimal digits
  int sample_rate_hz = 0;
  int channels = 0;
  FrameCount frames;
  std::string format;                    ///< as the reader names it, e.g. "WAV 24-bit PCM"
  std::vector<std::string> microphones;  ///< a position a channel; "" where not said
  /// Whether chuffs are cut from it; none: unless a lineside pass-by is heard in it.
  std::optional<bool> chuff_source;
  Extra extra;
  bool operator==(const Take&) const = default;
};

/// Whose engine, what the recording may be used for, until when.
struct Rights {
  std::string owner;    ///< who gave permission
  std::string purpose;  ///< what for
  std::string until;    ///< a date yyyy-mm-dd, or "" for no end
  Extra extra;
  bool operator==(const Rights&) const = default;
};

/// A take's place on the clock of its pass.
struct PassTake {
  Id<Take> take;
  FrameCount offset_frames;  ///< the take's frame 0 on the pass clock
  Extra extra;
  bool operator==(const PassTake&) const = default;
};

/// The takes of one run of the engine, on one clock: frames of the first take's rate. All takes
/// of a pass have that sample rate.
struct Pass {
  Id<Pass> id;
  std::string name;
  std::vector<PassTake> takes;
  std::string log;  ///< slate, regulator, cut-off, gradient, load, in the designer's words
  std::optional<Rights> rights;
  Extra extra;
  bool operator==(const Pass&) const = default;
};

/// What a mark says. From `effort` on they are what the designer sets by hand over what is
/// measured: they are applied, in the order of the project's list, whenever beats are tracked.
enum class MarkKind {
  beat,
  whistle,
  safety_valve,
  pump,
  injector,
  standing,
  unusable,
  other,
  effort,         ///< a stretch has Mark::effort
  beat_added,     ///< a point: a beat is there
  beat_removed,   ///< a point: what was taken for a beat there is none
  beat_moved,     ///< a point: the beat there is at Mark::to_frame
  beats_halved,   ///< a stretch: of its beats every other is none; its first one is
  beats_doubled,  ///< a stretch: midway between each two of its beats is one more
  revolution,     ///< position 0 is at its start, and, where it is a stretch, at its end
  retracked       ///< a stretch: a beat at its start and its end, tracked anew between
};
/// The kinds before this one name what is heard.
inline constexpr int first_hand_set_kind = static_cast<int>(MarkKind::effort);

/// A named point (start == end) or stretch on a take, in the take's frames.
struct Mark {
  Id<Mark> id;
  Id<Take> take;
  MarkKind kind = MarkKind::other;
  FrameRange range;
  std::optional<FrameIndex> to_frame;  ///< of beat_moved, and of no other
  /// beats_halved, beats_doubled: beats that the stretch has then, so that a track that has them
  /// already is left alone; retracked: intervals between its ends. 1 to 100 000.
  std::optional<int> beats;
  std::optional<Effort> effort;  ///< of effort, and of no other
  std::string label;             ///< for `unusable`: the reason
  Extra extra;
  bool operator==(const Mark&) const = default;
};

}  // namespace fourbeat::model
