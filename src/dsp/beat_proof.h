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

/// What each interval of the path says, in nats, one entry a beat that ends it: for a beating
/// source and against events that come at random, by how near the interval is to the smooth rate
/// and how many other events as strong stand between the beats. A stretch's first beat has 0.
struct PathEvidence {
  std::vector<double> rolling;      ///< of wheels that change speed as a train does
  std::vector<double> slipping;     ///< of wheels that may break away, and grip again
  std::vector<std::size_t> starts;  ///< of the path's stretches, and the path's size
};
[[nodiscard]] PathEvidence weigh_path(std::span<const Candidate> candidates,
                                      std::span<const PathBeat> path);

/// Keeps the runs for which a beating source wins by far, its wheels rolling; speech, wind and rain
/// give none.
[[nodiscard]] std::vector<ProvedStretch> prove_stretches(const PathEvidence& evidence);

/// The stretches kept of those proved, each followed on through what its wheels slip: as far as a
/// run reaches in which they may, if that touches no proved stretch that was not kept.
[[nodiscard]] std::vector<ProvedStretch> follow_through_slips(
    const PathEvidence& evidence, std::span<const ProvedStretch> proved,
    const std::vector<ProvedStretch>& kept);

}  // namespace fourbeat::dsp
