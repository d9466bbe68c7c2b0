// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "beat_path.h"

#include <span>

namespace fourbeat::dsp {

/// Decides, from each whole stretch of the path, whether beats were passed over because they are
/// weaker than their neighbours (an engine that limps): where an event stands at every half, or
/// at every third, of nearly every interval, clearly above what stands elsewhere, it is a beat.
/// Lowers the references of the candidates there, so that the next search finds it; true when
/// any was. Rates above `greatest_rate_hz` are left alone.
bool admit_weak_beats(std::span<Candidate> candidates, std::span<const PathBeat> path,
                      double greatest_rate_hz);

}  // namespace fourbeat::dsp
