// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once

#include "image.h"

#include <cstddef>
#include <cstdint>
#include <span>

namespace fourbeat::drive {

/// The row that serves a beat: one whose band holds the speed at this effort; else at the nearest
/// effort (of two equally near, the harder); else the row whose band is nearest, then the nearest
/// effort. Ties go to the first. Index into `rows`, or `none` when there is no row at all.
[[nodiscard]] int choose_row(std::span<const ImageRow> rows, double speed_kmh,
                             model::Effort effort) noexcept;

/// The chuff of a row at a place of a turn; revolutions are played in turn, counted by the
/// wheel's own turns. Null where the row holds none.
[[nodiscard]] const ImagePart* chuff_of(const ImageRow& row, std::int64_t turn,
                                        std::size_t position) noexcept;

}  // namespace fourbeat::drive
