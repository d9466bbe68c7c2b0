// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/dsp/beat_tracker.h"

#include <algorithm>
#include <tuple>

namespace fourbeat::tests {

/// Whether two tracks are the same in every figure.
inline bool same_track(const dsp::BeatTrack& a, const dsp::BeatTrack& b) {
  const auto beat = [](const dsp::Beat& x) {
    return std::tie(x.frame, x.time_s, x.strength, x.confidence, x.position, x.speed_kmh,
                    x.tilt_db);
  };
  const auto stretch = [](const dsp::BeatStretch& x) {
    return std::tie(x.range, x.median_interval_s, x.fused);
  };
  const auto alike = [](const auto& one, const auto& other, const auto& figures) {
    return std::equal(one.begin(), one.end(), other.begin(), other.end(),
                      [&](const auto& x, const auto& y) { return figures(x) == figures(y); });
  };
  return a.evidence == b.evidence && alike(a.beats, b.beats, beat) &&
         alike(a.stretches, b.stretches, stretch);
}

}  // namespace fourbeat::tests
