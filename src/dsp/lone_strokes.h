// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "beat_path.h"
#include "beat_proof.h"
#include "stretch_parts.h"

#include <span>

namespace fourbeat::dsp {

/// What stands alone in a take, at a pump's pace, is a pump's rather than a train's. A train that
/// is first heard in the middle of a take sets off, and gains pace; or passes, grows louder and
/// softer again, and is heard over more than 100 m of its way: 85 beats at four a turn of a wheel
/// of 1.5 m. A pump is heard at its full pace and as loud at once, and stops as suddenly.

/// Counts, with the longest part that may be a pump's, each stretch that stands alone: of fewer
/// beats, at a pump's pace, that neither gains pace nor swells, after 10 s without a beat, so that
/// nothing was under way. parts: of whole stretches, in order.
void count_lone(std::span<StretchPart> parts, std::span<const Candidate> candidates);

/// Whether all that was proved in a take of `take_s` seconds is such stretches, and little: less
/// than a tenth of it. What begins within the first 10 s may have been under way.
[[nodiscard]] bool are_lone_strokes(std::span<const ProvedStretch> stretches,
                                    std::span<const Candidate> candidates,
                                    std::span<const PathBeat> path, double take_s);

}  // namespace fourbeat::dsp
