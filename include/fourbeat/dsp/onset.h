// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/job_control.h"
#include "fourbeat/base/result.h"
#include "fourbeat/dsp/sample_source.h"

#include <array>
#include <cstddef>
#include <span>
#include <vector>

namespace fourbeat::dsp {

/// Spans of time over which a step is looked for.
inline constexpr std::size_t onset_spans = 4;

/// How strongly a sound begins, at every 5 ms.
///
/// The level is the mean over bands (log-spaced, 80 Hz to 12 kHz or 0.45 × rate) of their levels
/// in dB, each band weighted by how clearly it rises and falls over its own noise: a mean of many
/// logarithms is far steadier than the logarithm of the whole, and cares neither for gain nor
/// for a steady tone. The strength is the generalised likelihood ratio of an upward step of that
/// level against its noise (Basseville and Nikiforov, "Detection of Abrupt Changes", 1993,
/// chapter 2), in standard deviations, the largest of several spans; 0 where the level falls. The
/// noise is each level's own, and what wind and passing sounds move all levels by.
struct OnsetStrength {
  double hop_s = 0.0;    ///< seconds from one value to the next
  double first_s = 0.0;  ///< time of the first value
  /// Standard deviation of a step where none is, over 10, 20, 40 and 80 ms.
  std::array<double, onset_spans> step_noise_db{};
  std::vector<float> level_db;  ///< against an arbitrary reference
  std::vector<float> strength;  ///< at least 0; the step lies at the value's time

  /// The strength at an index from levels at most `reach` hops off alone.
  [[nodiscard]] float strength_within(std::size_t index, std::size_t reach) const;
  [[nodiscard]] double time_s(double index) const { return first_s + index * hop_s; }
};

/// samples: one channel at its own rate, 8 kHz to 192 kHz. Material shorter than 100 ms, or
/// silent, gives empty vectors. The samples are read twice, in blocks of at most 16 Ki frames.
/// Errors: bad_argument (rate), not_finite (place: the frame), cancelled, those of reading. Linear
/// in length, in time and memory (at 48 kHz 0.55 bytes a frame, of which 0.03 are handed back).
[[nodiscard]] Result<OnsetStrength> onset_strength(SampleSource& samples, double sample_rate_hz,
                                                   JobControl& job);

}  // namespace fourbeat::dsp
