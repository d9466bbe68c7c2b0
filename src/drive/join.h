// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "image.h"

#include <cstdint>

namespace fourbeat::drive {

/// The longest crossfade from one part of a held sound to the next.
inline constexpr double part_crossfade_s = 0.010;

/// The sample of a clip at a position that may lie past its end: looped, else 0.
[[nodiscard]] float sample_at(const ImageClip& clip, std::int64_t position) noexcept;

/// Normalised correlation, held to 0 … 1, of `frames` of two clips from a position each.
[[nodiscard]] float rho_of(const ImageClip& a, std::int64_t a_start, const ImageClip& b,
                           std::int64_t b_start, int frames) noexcept;

/// True when `next` follows the last sample of `before` as smoothly as both run near the join:
/// no second difference across it is above 1.5 times the largest within `frames` on either side.
[[nodiscard]] bool joins_smoothly(const ImageClip& before, float before_gain, const ImageClip& next,
                                  float next_gain, int frames) noexcept;

}  // namespace fourbeat::drive
