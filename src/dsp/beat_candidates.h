// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "beat_path.h"

#include "fourbeat/dsp/onset.h"

#include <span>
#include <vector>

namespace fourbeat::dsp {

/// Where beats may be: the local peaks of the onset strength, each at its steepest place, with a
/// first guess of what beats around it are worth; without those that cannot even be weak beats.
[[nodiscard]] std::vector<Candidate> find_candidates(const OnsetStrength& onsets);

/// Loudest level in the 40 ms after an attack, as OnsetStrength::level_db.
[[nodiscard]] double level_after(const OnsetStrength& onsets, double time_s);

/// What beats are worth around each candidate, learnt from beats found.
void learn_references(std::span<Candidate> candidates, std::span<const PathBeat> path);

}  // namespace fourbeat::dsp
