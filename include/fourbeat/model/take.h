// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/frame.h"
#include "fourbeat/base/id.h"
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

enum class MarkKind { beat, whistle, safety_valve, pump, injector, standing, unusable, other };

/// A named point (start == end) or stretch on a take, in the take's frames.
struct Mark {
  Id<Mark> id;
  Id<Take> take;
  MarkKind kind = MarkKind::other;
  FrameRange range;
  std::string label;  ///< for `unusable`: the reason
  Extra extra;
  bool operator==(const Mark&) const = default;
};

}  // namespace fourbeat::model
