// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "fourbeat/audio/pcm.h"
#include "fourbeat/base/job_control.h"
#include "fourbeat/base/result.h"

#include <vector>

namespace fourbeat::dsp {

/// The stretches of a material, a second or longer, that go on sounding as it does in `pattern`:
/// levels of broad bands, each over a second, within 4 dB (root mean square over the bands) of
/// the pattern's means, and no moment of 50 ms more than 10 dB over the loudest there. Longest
/// first. Frames of the material. 2 kHz to 768 kHz. Errors: bad_argument (pattern empty or not in
/// the material, channels not equally long), cancelled.
[[nodiscard]] Result<std::vector<FrameRange>> stretches_like(const audio::Pcm& material,
                                                             const FrameRange& pattern,
                                                             JobControl& job);

}  // namespace fourbeat::dsp
