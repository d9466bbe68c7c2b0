// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/pcm.h"
#include "fourbeat/base/job_control.h"
#include "fourbeat/base/result.h"

#include <cstddef>
#include <cstdint>
#include <vector>

namespace fourbeat::dsp {

/// Where a thinner stream takes its samples: at first + i × step_numerator / step_denominator
/// frames, rounded down, i = 0 … count - 1.
struct Thinning {
  std::int64_t first = 0;
  std::int64_t step_numerator = 1;
  std::int64_t step_denominator = 1;
  std::size_t count = 0;
};

/// Low-passed (Hann-windowed sinc, three steps to either side, -6 dB at 0.4 of the thin rate, unity
/// gain at 0 Hz) and thinned. What lies outside `samples` counts as silence. Errors: cancelled.
[[nodiscard]] Result<std::vector<float>> thin(audio::MonoView samples, const Thinning& thinning,
                                              const JobControl& job);

}  // namespace fourbeat::dsp
