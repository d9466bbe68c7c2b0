// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/job_control.h"
#include "fourbeat/base/result.h"
#include "fourbeat/dsp/onset.h"

#include <cstddef>
#include <vector>

namespace fourbeat::dsp {

/// Hops of the onset strength from one point of a line to the next.
inline constexpr std::size_t line_step_hops = 32;

/// A line in the spectrum of the level at one moment.
struct LinePoint {
  double centre_hop = 0.0;  ///< middle of its window
  double rate_hz = 0.0;
  double line = 0.0;  ///< its power over the noise's around it
};

/// Lines of 16 to 46 modulations a second in the spectrum of the level (onset.h), windows of
/// 1.28 s: each the strongest of all up to it, so that it is no overtone of something slower.
/// They are followed by a dynamic programme (Viterbi) over rate and time. Points of a line follow
/// one another without a gap.
/// Errors: cancelled. Linear in length.
[[nodiscard]] Result<std::vector<std::vector<LinePoint>>> find_lines(const OnsetStrength& onsets,
                                                                     double greatest_rate_hz,
                                                                     const JobControl& job);

}  // namespace fourbeat::dsp
