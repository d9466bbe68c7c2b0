// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/base/job_control.h"
#include "fourbeat/base/result.h"

#include <cstddef>
#include <span>
#include <vector>

namespace fourbeat::dsp {

/// A place where a beat may be: a local peak of the onset strength.
struct Candidate {
  double time_s = 0.0;
  double strength = 0.0;   ///< as OnsetStrength, bounded where it is sure
  double reference = 0.0;  ///< what slow beats around it are taken to have
  double level_db = 0.0;   ///< loudest just after it, against an arbitrary reference
};

/// A beat on the best path.
struct PathBeat {
  std::size_t candidate = 0;
  double rate_hz = 0.0;        ///< the smooth beat rate there
  bool starts = false;         ///< the first of a stretch
  bool after_unheard = false;  ///< one more beat lies midway between the one before and this
};

/// Share of its strength that a beat keeps at a rate: under 160 ms an interval leaves no room for
/// the longest spans of the step (onset.h), and what a span shows goes with its square root.
[[nodiscard]] double strength_share(double rate_hz);

/// Limits of the search.
struct PathParams {
  double least_rate_hz = 0.36;
  double greatest_rate_hz = 20.0;  ///< above, beats fuse (beat_fused.h)
};

/// The most likely beats among the candidates (ascending in time): a dynamic programme over
/// candidate and beat rate (a hidden semi-Markov model: a beat's duration is the state). The rate
/// changes little by little, as a train's speed does; an interval may stray from it, as uneven
/// exhausts do; a candidate pays by its strength against its reference; a stretch costs a fixed
/// sum, so that where nothing repeats there is none.
/// Errors: cancelled. Cost: linear in the candidates for a bounded number of them a second.
[[nodiscard]] Result<std::vector<PathBeat>> best_path(std::span<const Candidate> candidates,
                                                      const PathParams& params,
                                                      const JobControl& job);

}  // namespace fourbeat::dsp
