// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "image.h"

#include "fourbeat/base/result.h"

#include <string>

namespace fourbeat::drive {

inline constexpr double most_gain_db = 120.0;  ///< of a part of a gain, either way

/// Whether a clip can be compiled. Errors: bad_argument (rate, gain or loop out of range),
/// not_finite (a sample); place: `name`.
[[nodiscard]] Status check_clip(const PieceSound& sound, const std::string& name);

/// A clip at the output rate, without its loop. Errors: those of audio::resample().
[[nodiscard]] Result<ImageClip> plain_clip(const audio::Clip& clip, int rate_hz);

/// The clip up to its loop's end, the loop a whole number of frames long: the ratio is bent until
/// it is (by less than half a frame a loop), and the loop is taken where the filter's memory holds
/// nothing but the loop itself. Errors: those of audio::resample().
[[nodiscard]] Result<ImageClip> looped_clip(const audio::Clip& clip, int rate_hz);

}  // namespace fourbeat::drive
