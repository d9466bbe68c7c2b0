// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "hop_rows.h"

#include "fourbeat/dsp/seam.h"

namespace fourbeat::dsp {

/// measure_seam() of a loop some of whose hops are known from its material; the answer is the
/// same, to the bit. `rendered` and `loop` must pass measure_seam()'s checks. Errors: cancelled.
[[nodiscard]] Result<SeamReport> measure_seam_known(const audio::Pcm& rendered,
                                                    const LoopSpec& loop, const KnownHops& known,
                                                    std::uint64_t seed, JobControl& job);

}  // namespace fourbeat::dsp
