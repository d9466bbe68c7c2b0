// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/frame.h"

#include <cstddef>
#include <cstdint>
#include <optional>
#include <span>
#include <vector>

namespace fourbeat::audio {

/// Samples in memory, one vector a channel, all equally long; full scale is ±1.
struct Pcm {
  double sample_rate_hz = 0.0;
  std::vector<std::vector<float>> channels;

  [[nodiscard]] FrameCount frames() const {
    return FrameCount(channels.empty() ? 0 : static_cast<std::int64_t>(channels.front().size()));
  }
};

/// One mono piece of sound as it is played or stored: rendered segment or decoder sound.
/// `loop`, where there is one, is half-open, lies inside the samples, and already holds its
/// blend: playing on from loop.end - 1 to loop.start is seamless.
struct Clip {
  double sample_rate_hz = 0.0;
  int bits = 32;  ///< depth the samples were rounded to: 8, 12, 16, 24; 32 = float, not rounded
  std::vector<float> samples;
  std::optional<FrameRange> loop;
  bool operator==(const Clip&) const = default;
};

using MonoView = std::span<const float>;

}  // namespace fourbeat::audio
