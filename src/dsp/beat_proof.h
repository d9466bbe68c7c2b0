// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "beat_path.h"

#include <span>
#include <vector>

namespace fourbeat::dsp {

/// A stretch of the path that truly beats.
struct ProvedStretch {
  std::size_t first = 0;         ///< of the path
  std::size_t count = 0;         ///< beats
  std::vector<double> evidence;  ///< a beat: mean log-likelihood ratio around it, in nats
};

/// Weighs, interval by interval, a beating source against events that come at random: how near
/// each interval is to the smooth rate, and how many other events as strong stand between the
/// beats. Keeps the runs for which the beating source wins by far; speech, wind and rain give
/// none.
[[nodiscard]] std::vector<ProvedStretch> prove_stretches(std::span<const Candidate> candidates,
                                                         std::span<const PathBeat> path);

}  // namespace fourbeat::dsp
